"""The battery of a scenario: its label, charge and chargers, and two as one."""
