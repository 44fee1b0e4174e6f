"""A studio's server: what a box gives to it, and a PostgreSQL database that collects it; docs/studio.md."""
