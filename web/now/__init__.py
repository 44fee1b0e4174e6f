"""The page of this moment: the present firing, starting one, telling what was done."""
