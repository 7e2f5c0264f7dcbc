"""Lists of many vehicles to print, save and put into a calendar."""
