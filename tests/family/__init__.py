"""The family of heads: generated performers whose figures are known by construction, none of them from Dryfit's checks.

Blender's axes throughout: x to the performer's left, y to the back, z up, millimetres. What is here makes snapshots and
says what is true of them; ``rows`` asks Dryfit and holds the answers against that.
"""
