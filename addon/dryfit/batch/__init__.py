"""Many variants: on this machine's processes or on a cluster, one result for both."""
