"""One file per question. A check measures, compares and describes; it reads a fitting and a brief, nothing else."""
