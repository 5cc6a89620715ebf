"""Is a result still true of the scene? ``outdated`` answers, from hashes of what the design is made of.

``design_prints`` says what it is made of; ``shape_prints``, ``placing`` and ``setting_values`` read one kind of thing
each. ``check_rows`` brings what panels draw in line with the answer. Who asks when: ``standing`` and ``freshness``.
"""
