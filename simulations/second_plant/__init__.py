"""A second plant, of another structure than ``simulations.plant``: it judges, and no rule is tuned on it.

A network of about 28 nodes (``network.py``, ``kiln.py``) with three zones of elements, air and wall, stepped
implicitly; sensors as fins in the wall (``sensor.py``); controllers of three sorts (``regulators.py``,
``programmer.py``); makers and what goes wrong (``maker.py``, ``rows.py``); what must be said is reckoned from what
truly happened (``labels.py``). ``cases.py`` draws whole firings by seed.
"""
