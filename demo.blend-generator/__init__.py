"""The Salt Orchard: a performer and six designs with known faults, built from a CC0 head.

In a checkout this folder is ``demo.blend-generator``, in a wheel ``dryfit/demo``; ``dryfit.demo_door`` imports
it as ``dryfit.demo`` from either, so that its modules can import each other and ``dryfit.model`` relatively.
"""
