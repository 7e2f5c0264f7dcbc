"""A truth of parked vehicles and their reported voltages, written without sight of the estimator."""
