"""A studio's server over thirty boxes: broker and database restarted, every box away for an hour."""
