"""Copies of the record on sticks, in folders and with the owner's own tools: taken, read back, restored.

They are taken by a process of its own, never by the watch: whatever hangs or fails here, the kiln is watched.
"""
