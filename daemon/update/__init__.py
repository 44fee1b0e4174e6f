"""Taking a newer package, and going back to the last one by itself where the kiln is not watched with it."""
