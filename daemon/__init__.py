"""The apprentice itself: what it decides, keeps and tells."""
