"""A truth of parked vehicles and what their units report, blind to the estimator.

Never tune it to the product, nor the product to it. `best_possible.py` is a yardstick learned on
the truth itself: compare interval scores, not widths.
"""
