"""Whether a kiln changes from firing to firing: its elements, its lining, its probe."""
