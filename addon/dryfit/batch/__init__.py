"""Many variants: processes on this machine, or a cluster."""
