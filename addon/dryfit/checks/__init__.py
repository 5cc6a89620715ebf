"""The questions. What a check is, the one list of them, and the runner; a folder for each subject.

A check measures, compares and describes; it reads a fitting and a brief, nothing else, and no subject uses another.
"""
