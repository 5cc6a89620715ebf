"""From a fitting and a finding to new vertex positions. One fix a file; none touches Blender."""
