"""The room of the open scene's head: kept in the file, painted, held against what is sculpted, and marked when old."""
