"""What the owner has set: the settings file and who is to be told."""
