"""The record as plain files that can be read without Lehrling, and back; docs/archive.md describes them."""
