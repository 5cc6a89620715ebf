"""One sitting at the bench: what the open scene keeps of its results, draws, picks, follows and gates.

The sidebar shows this; ``scene`` reads and writes the design itself.
"""
