"""Write the second opinions of two open libraries as small CSV files beside this script.

Run: python tests/second_opinion/generate.py, with NREL-PySAM and pybamm installed (extra
"second-opinion"). The libraries are imported inside the functions: the tests that only read the
files do not need them.

NREL-PySAM, stateful battery: constant-current discharge of its kinetic model. It does not model
self-discharge, currents below 10 mA (silently zero), or temperature in voltage and resistance;
cold removes its charge for good. Used only for charge against rate at 25 °C, above 10 mA.

pybamm, lead-acid, parameter set Sulzer2019: open-circuit voltage against acid molality
(electrode polynomials after Bode) and charge against rate of the full porous-electrode model. Its
capacity rises a little in the cold (wrong sign), its state of charge is acid concentration,
self-discharge is not calibrated. Used only at its reference temperature, 21.7 °C.
"""

from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Final

HERE: Final = Path(__file__).parent
KINETIC_CSV: Final = HERE / "kinetic_charge_against_rate.csv"
ELECTROLYTE_CSV: Final = HERE / "electrolyte_charge_against_rate.csv"
OPEN_CIRCUIT_CSV: Final = HERE / "open_circuit_against_molality.csv"
SHARES_PERCENT: Final = {"1 h": 60.0, "10 h": 93.0, "20 h": 100.0}
RATES_H: Final = (20, 50, 100, 200, 500, 1000, 2000)  # C/20 to C/2000
MOLALITIES: Final = (0.56, 1.0, 1.78, 2.5, 3.14, 4.0, 4.68, 5.3, 5.95, 6.41)  # mol/kg
CELLS: Final = 6
CAPACITY_AH: Final = 100.0


def kinetic_rows() -> list[tuple[float, float]]:
    """Return (hours of the nominal rate, charge delivered over C20) of the kinetic model."""
    return [(float(rate_h), _kinetic_ah(CAPACITY_AH / rate_h) / _c20()) for rate_h in RATES_H]


def _c20() -> float:
    return _kinetic_ah(CAPACITY_AH / RATES_H[0])


def _kinetic_ah(current_a: float) -> float:
    """Return the charge a full battery delivers at a constant current. [Ah]."""
    from PySAM import BatteryStateful

    battery = BatteryStateful.default("LeadAcid")
    step_h = CAPACITY_AH / current_a / 2000.0
    battery.ParamsCell.assign(
        {
            "leadacid_q10": SHARES_PERCENT["10 h"],
            "leadacid_q20": SHARES_PERCENT["20 h"],
            "leadacid_qn": SHARES_PERCENT["1 h"],
            "leadacid_tn": 1.0,
            "Qfull": CAPACITY_AH,
            "initial_SOC": 100.0,
            "minimum_SOC": 0.0,
            "maximum_SOC": 100.0,
            "resistance": 1e-6,
        }
    )
    battery.ParamsPack.assign(
        {
            "nominal_energy": CAPACITY_AH * 12.0 / 1000.0,
            "nominal_voltage": 12.0,
            "cap_vs_temp": [[-40.0, 100.0], [25.0, 100.0], [60.0, 100.0]],
            "T_room_init": 25.0,
        }
    )
    battery.Controls.assign({"control_mode": 0.0, "dt_hr": step_h, "input_current": current_a})
    battery.setup()
    delivered_ah = 0.0
    for _ in range(4000):
        battery.execute(0)
        flowing_a = battery.StatePack.I
        delivered_ah += flowing_a * step_h
        if flowing_a < 0.999 * current_a:
            break
    return delivered_ah


def open_circuit_rows() -> list[tuple[float, float]]:
    """Return (molality [mol/kg], resting voltage of six cells [V]) from the electrode functions."""
    import numpy as np
    import pybamm

    found = pybamm.ParameterValues("Sulzer2019")
    positive = found["Positive electrode open-circuit potential [V]"]
    negative = found["Negative electrode open-circuit potential [V]"]
    rows = []
    for molality in MOLALITIES:
        argument = pybamm.Scalar(molality)
        cell_v = (positive(argument) - negative(argument)).evaluate()
        rows.append((molality, CELLS * float(np.squeeze(cell_v))))
    return rows


def electrolyte_rows() -> list[tuple[float, float]]:
    """Return (hours of the nominal rate, charge delivered over that at 20 h), full model.

    The full porous-electrode model: the leading-order one runs past its voltage cut-off at low
    rates (the event is missed and the voltage becomes nan).
    """
    import pybamm

    nominal_ah = 17.0
    delivered = []
    for rate_h in RATES_H:
        model = pybamm.lead_acid.Full()
        values = model.default_parameter_values
        values["Current function [A]"] = nominal_ah / rate_h
        simulation = pybamm.Simulation(model, parameter_values=values)
        solution = simulation.solve([0.0, 3.0 * rate_h * 3600.0])
        if solution.termination != "event: Minimum voltage [V]":
            raise RuntimeError(f"C/{rate_h}: ended by {solution.termination}")
        delivered.append(nominal_ah / rate_h * float(solution["Time [h]"].entries[-1]))
    return [
        (float(rate_h), ah / delivered[0]) for rate_h, ah in zip(RATES_H, delivered, strict=True)
    ]


def write_all() -> None:
    """Write the three files."""
    sam, bamm = f"NREL-PySAM {version('NREL-PySAM')}", f"pybamm {version('pybamm')}"
    rate = "rate_h,charge_over_c20"
    _write(KINETIC_CSV, f"{sam}, 60/93/100 % at 1/10/20 h, 25 °C", rate, kinetic_rows())
    _write(ELECTROLYTE_CSV, f"{bamm}, lead-acid Full, Sulzer2019", rate, electrolyte_rows())
    _write(
        OPEN_CIRCUIT_CSV,
        f"{bamm}, Sulzer2019 electrode potentials, six cells",
        "molality_mol_per_kg,open_circuit_v",
        open_circuit_rows(),
    )


def _write(path: Path, made_by: str, heading: str, rows: Sequence[tuple[float, float]]) -> None:
    lines = [f"# {made_by}", heading, *(f"{x:g},{y:.6g}" for x, y in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def read_rows(path: Path) -> list[tuple[float, float]]:
    """Return the rows of one of the files."""
    lines = path.read_text("utf-8").splitlines()[2:]
    return [(float(x), float(y)) for x, y in (line.split(",") for line in lines)]


if __name__ == "__main__":
    write_all()
