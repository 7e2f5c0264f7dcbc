"""Things with labels: batteries, units, vehicles, sites; read from TOML, frozen once made."""
