"""The inverse of the checks: how much may be added to a bare head, where, and what stops it."""
