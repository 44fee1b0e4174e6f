"""The chain of hashes over what is kept of a firing; docs/archive.md describes it for somebody without Lehrling."""
