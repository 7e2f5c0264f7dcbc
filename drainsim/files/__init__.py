"""Files turned into plain tables and back; nothing here knows a vehicle.

Nothing is read silently: rows of lists and readings are used, set aside with a reason, or
refused; the three add up.
"""
