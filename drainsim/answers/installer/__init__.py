"""Which circuit, what does it draw, did the job come out as budgeted?"""
