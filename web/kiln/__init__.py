"""The page of the kiln: sensor, usual difference, who is told."""
