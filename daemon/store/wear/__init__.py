"""What a kiln's parts went through: the heat of each firing, and when a part was changed."""
