"""What Blender shows: the sidebar, operators and lists of the modeller's bench. Measures nothing.

Importing this package needs no Blender; ``registration`` does.
"""
