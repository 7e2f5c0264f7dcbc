"""Files turned into plain tables and back; nothing here knows a vehicle."""
