"""The list of pieces, one piece, its photographs."""
