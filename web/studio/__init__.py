"""The page of a studio's server: all kilns side by side, and each box's own pages over what was collected."""
