"""A truth of parked vehicles and what their units report, blind to the estimator."""
