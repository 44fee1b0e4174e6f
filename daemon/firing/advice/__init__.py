"""What to say of a plan before it is fired, and which anneal a load needs."""
