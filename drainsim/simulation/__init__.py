"""Steps the charge of many lanes (vehicle x random draw) through the weather."""
