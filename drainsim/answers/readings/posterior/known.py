"""What readings or a stand so far taught, carried by a scenario into every question about it.

A question changes keys and resolves the scenario again: what a change makes new (a charge, another
battery) is no longer what was learned; everything else stays.
"""

from dataclasses import dataclass, replace

import numpy as np

from drainsim.answers.readings.posterior.conditioning import Posterior
from drainsim.physics.tables import FloatArray
from drainsim.simulation.draws import standard_draws
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.assumption import Assumption

_BATTERY: tuple[str, ...] = (
    "capacity_health",
    "cranking_health",
    "self_discharge",
    "low_charge",
    "open_circuit_offset",
    "cold_power",
)
_LEAST_SD = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Draws that agree with readings, and the case they were found for; called on a case.

    Without readings `z` is empty, for a case's own draws, and `battery` None: they suit any.
    """

    z: dict[str, FloatArray]
    charge: FloatArray
    extra_a: FloatArray
    battery: tuple[str, float, float] | None  # profile, capacity and its health
    start_charges: tuple[float, float]  # that case's own: as given, and as its driving left it
    source: str

    @classmethod
    def standing(cls, charge: FloatArray, *, given_charge: float, source: str) -> "Known":
        """Return what a stand so far left each of a case's draws.

        Parameters
        ----------
        charge : array, shape (draws,)
            Share of full, in the draws' order. [-]
        given_charge : float
            In whose place it stands; any other was chosen since. [-]
        source : str
            Of the charge, in words.
        """
        return cls(
            z={},
            charge=charge,
            extra_a=np.broadcast_to(0.0, charge.shape),
            battery=None,
            start_charges=(given_charge, given_charge),
            source=source,
        )

    @classmethod
    def of(cls, posterior: Posterior, case: Case, *, given_charge: float, nights: int) -> "Known":
        """Return what a case's readings taught.

        Parameters
        ----------
        posterior : Posterior
        case : Case
            From this morning on.
        given_charge : float
            Its charge at parking before a pattern of driving was considered. [-]
        nights : int
            Of the stand that is going on.
        """
        return cls(
            z=posterior.z,
            charge=posterior.charge,
            extra_a=posterior.extra_a,
            battery=_battery(case),
            start_charges=(given_charge, case.battery.start.charge),
            source=f"draws that agree with readings, {nights} nights of this stand",
        )

    def __call__(self, case: Case) -> Case:
        """Return a case parked now whose draws agree with the readings.

        Its own values are the middles of those draws, so that every question about the case takes
        them; the key-off sequence is over.
        """
        count = case.draws
        many = len(self.charge)  # fewer are spread over all of them: they lie in an order
        of_draw = np.arange(count) * many // min(count, many) % many
        drawn = self.z or standard_draws(many, case.seed)
        z = {name: values[of_draw] for name, values in drawn.items()}
        if self.battery and _battery(case) != self.battery:
            z.update({name: standard_draws(count, case.seed)[name] for name in _BATTERY})
        extra_a = float(np.median(self.extra_a))
        known = {**z, "extra_a": self.extra_a[of_draw] - extra_a}
        vehicle = replace(case.vehicle, other_a=case.vehicle.other_a + extra_a)
        if case.battery.start.charge not in self.start_charges:
            known["state_of_charge"] = standard_draws(count, case.seed)["state_of_charge"]
            return replace(case, vehicle=vehicle, known=known)
        middle = float(np.median(self.charge))
        spread = max(float(np.std(self.charge)), _LEAST_SD)
        known["charge"] = self.charge[of_draw]
        known["state_of_charge"] = (known["charge"] - middle) / spread
        start = replace(case.battery.start.known_as(middle), charge_sd=spread)
        return replace(
            case,
            battery=replace(case.battery, start=start),
            vehicle=replace(vehicle, key_off_ah=0.0),
            unit=replace(case.unit, once_ah=0.0),
            spreads=replace(case.spreads, state_of_charge_sd=spread),
            pattern=case.pattern and replace(case.pattern, settled=True),
            known=known,
            assumptions=self._assumptions(case, middle),
        )

    def _assumptions(self, case: Case, middle: float) -> tuple[Assumption, ...]:
        name = str(BATTERY.state_of_charge)
        told = Assumption(
            name=name,
            value=round(middle, 3),
            unit="",
            origin="estimated",
            source=self.source,
        )
        return (*(item for item in case.assumptions if item.name != name), told)


def _battery(case: Case) -> tuple[str, float, float]:
    battery = case.battery
    return battery.profile.key, battery.capacity_ah, battery.capacity_health
