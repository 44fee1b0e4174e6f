"""A plan weighed before it is fired: what it comes to in this kiln, what if, and a plan that the kiln can follow."""
