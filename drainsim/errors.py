"""The errors drainsim raises; every message is one sentence a user can act on."""


class DrainsimError(Exception):
    """Root of everything drainsim raises on purpose."""


class OutOfRangeError(DrainsimError, ValueError):
    """A number lies outside what a formula or its source covers."""


class ProfileError(DrainsimError, ValueError):
    """A battery profile or preset file is missing, unreadable or incomplete."""


class ScenarioError(DrainsimError, ValueError):
    """A scenario file, key or value cannot be used."""


class WeatherError(DrainsimError, ValueError):
    """A temperature file is missing, unreadable or has unusable rows."""


class RecordError(DrainsimError, ValueError):
    """A current log, table of circuits or job record cannot be used."""


class FleetError(DrainsimError, ValueError):
    """A fleet list cannot be read as a table of vehicles."""
