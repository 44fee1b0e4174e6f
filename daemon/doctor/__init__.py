"""Looks over the whole box, changing nothing: what is in order, and what to do about what is not."""
