"""Values only: what was measured, against what, and what came out. Nothing here computes geometry."""
