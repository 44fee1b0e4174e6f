"""What the watches may look at: the firing as it stands at one moment."""
