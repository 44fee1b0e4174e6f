"""What every page needs of a request: context, forms, assets, caching, the daemon's state."""
