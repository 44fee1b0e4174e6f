"""Finding: what was written, by its words, and questions that all firings answer together."""
