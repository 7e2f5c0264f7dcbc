"""Which of my parked vehicles will not start, and by when must someone act?"""
