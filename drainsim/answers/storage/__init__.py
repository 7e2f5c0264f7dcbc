"""May it be left standing, and what makes the answer a yes?"""
