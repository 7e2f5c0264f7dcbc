"""A truth of parked vehicles and what their units report, blind to the estimator.

Never tune it to the product, nor the product to it. `best_possible.py` bounds what a list and
voltages can tell at all.
"""
