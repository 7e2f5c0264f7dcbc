"""What happened when a vehicle did not start, beside the record of its job."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from drainsim.errors import RecordError
from drainsim.files.formats import newest_of
from drainsim.files.reading import file_within, read_text
from drainsim.vehicle.documents.job_record import (
    MAX_RECORD_BYTES,
    JobRecord,
    checked,
    job_record_from_dict,
    parse_json,
    read_job_record,
    refuse_unknown,
)
from drainsim.vehicle.keys.parameter import Keys, choice, number

LONGEST_DAYS: Final = 365.0
_KEYS: Final = ("job_record", "record", "happened", "battery_test")


class HAPPENED(Keys, name="happened", required=("parked_days",)):
    """How it stood."""

    parked_days = number((0.1, LONGEST_DAYS, "days"), "days between parking and the no-start")
    temperature_c = number((-40, 60, "°C"), "mean temperature meanwhile")
    state_of_charge = number((0, 1, ""), "charge at parking, if it was known")
    did_start = choice(("yes", "no"), "did it start")


class TEST(Keys, name="battery_test"):
    """What a test of the battery gave afterwards, before charging or after it."""

    resting_v = number((2, 16, "V"), "resting voltage found, before charging")
    resting_temperature_c = number((-40, 60, "°C"), "battery temperature then")
    capacity_ah = number((1, 400, "Ah"), "capacity found, after charging")
    cold_cranking_a = number((5, 2500, "A"), "cold cranking current found, after charging")
    health = number((0.2, 1.1, ""), "state of health found, as a share of new")


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """A checked complaint."""

    record: JobRecord
    happened: dict[str, Any]
    battery_test: dict[str, Any]
    where: str


def read_complaint(path: Path) -> Complaint:
    """Return the complaint in a JSON file, with the job record it holds or names.

    Raises
    ------
    RecordError
        Naming the file, the key, what is wrong and what would be right.
    """
    text = read_text(path, error=RecordError, max_bytes=MAX_RECORD_BYTES)
    return complaint_from_dict(
        parse_json(text, where=str(path)), where=str(path), folder=path.resolve().parent
    )


def complaint_from_dict(
    document: Mapping[str, Any], *, where: str, folder: Path | None = None
) -> Complaint:
    """Return a checked complaint; `folder` is where a named job record is looked for."""
    document = newest_of(document, "complaint", where=where, error=RecordError)
    refuse_unknown(document, _KEYS, where)
    if "happened" not in document:
        raise RecordError(f"{where}: happened is missing; parked_days is needed in it")
    happened = checked(HAPPENED.TABLE, document["happened"], where)
    test = checked(TEST.TABLE, document.get("battery_test", {}), where)
    return Complaint(
        record=_record(document, where, folder), happened=happened, battery_test=test, where=where
    )


def _record(document: Mapping[str, Any], where: str, folder: Path | None) -> JobRecord:
    if ("record" in document) == ("job_record" in document):
        raise RecordError(
            f"{where}: give the job either as record (the table itself) or as job_record (a file)"
        )
    if "record" in document:
        entry = document["record"]
        if not isinstance(entry, Mapping):
            raise RecordError(f"{where}: record: a job record in braces is needed")
        return job_record_from_dict(entry, where=f"{where}: record", folder=folder)
    name = document["job_record"]
    if not isinstance(name, str) or Path(name).name != name or folder is None:
        raise RecordError(f"{where}: job_record: the name of a file beside this one is needed")
    return read_job_record(
        file_within(folder, name, where=f"{where}: job_record", error=RecordError)
    )
