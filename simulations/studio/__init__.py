"""The invented studio of the demo: its pieces, its kiln, its three processes."""
