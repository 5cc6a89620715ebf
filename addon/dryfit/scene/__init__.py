"""The Blender border: the only code that reads or writes bpy data.

- ``reading``: ``read_file(path, brief)`` and ``read_snapshot(context, brief)`` give a frozen ``Snapshot``.
- ``design_file``, ``opening``, ``importing``, ``base_file``: what is opened how, and put on which base.
- ``disarming``: a .blend from disk is data and runs nothing. ``apart``: it is read in a process of its own.
- ``scene_reading``: what one scene holds. ``roles``, ``landmarks``, ``cameras``, ``exceptions``,
  ``motions`` and ``locking`` each know one kind of property, and write it for a sidebar to call.
- ``posable_scene``, ``staging``, ``posing``, ``borrowing``: pose, evaluate, leave everything as it was.
  ``rigs`` and ``controls`` pose what is no shape key: a bone, a property, the file's own animation.
- ``shown``, ``instances``: what a scene shows beside the objects with a role, so that nothing of it is silent.
- ``meshes``, ``units``, ``welding``: evaluated objects as arrays in millimetres.

Stored with a file, all plain ID properties:

============================== =========== ==============================================================
property                       on          value
============================== =========== ==============================================================
``dryfit_role``                object      a role's name
``dryfit_material``            object      a material of the brief
``dryfit_own``                 teeth, eye  true where they are the performer's own, not the design's
``dryfit_landmark``            an Empty    a landmark's name
``dryfit_lock_fingerprint``    the base    SHA-256 of the locked mesh, as hex text
``dryfit_lock_vertices``       the base    the locked vertices as bytes (see ``locking``)
``dryfit_motions``             scene       JSON: ``{"jaw": {"keys": {"JawOpen": [0.0, 1.0]}}}``, as in a brief
``dryfit_limits``              scene       JSON: ``{"additive_tolerance_mm": 0.5}``, over the brief's
``dryfit_materials``           scene       JSON: ``{"silicone": {"density_g_cm3": 1.1}}``, over the brief's
``dryfit_exceptions``          scene       JSON: a list of {check, object, region, reason, by, on}
``dryfit_at_render``           scene       ``stamp``, ``refuse_fail`` or ``refuse_review``; see ``render_gate``
``dryfit_measured_from``       scene       JSON: check -> part -> hash of what it was measured from
============================== =========== ==============================================================

Vertex groups named ``dryfit_...`` become a part's areas.
"""
