"""From a snapshot and a finding to new vertex positions."""
