"""The fourth firing of a kiln, judged with and without what the first three taught."""
