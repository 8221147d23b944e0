"""EIRP, ERP and conducted power, and the highest setting that keeps a limit.

Definitions: 47 CFR 2.1(c), Recommendation ITU-R V.573; a half-wave dipole stands 2.15 dB over
isotropic, a factor of 10^0.215 = 1.64059.
"""

from __future__ import annotations

import pytest

from planner.rules import lawful_power_mw
from planner.units import POWER_KINDS, convert_power_mw

WORKED = [
    # 100 mW from a half-wave dipole: 164.06 mW EIRP, 100 mW ERP, 100 mW at the connector
    ("ERP", "EIRP", 100.0, 2.15, 164.06),
    ("EIRP", "ERP", 164.06, 2.15, 100.0),
    ("conducted", "EIRP", 100.0, 2.15, 164.06),
    ("EIRP", "conducted", 164.06, 2.15, 100.0),
    ("conducted", "ERP", 100.0, 2.15, 100.0),
    ("ERP", "conducted", 100.0, 2.15, 100.0),
    # 50 mW EIRP, the limit of 15.236, is 30.48 mW ERP
    ("EIRP", "ERP", 50.0, 2.15, 30.48),
    # an antenna of 8.15 dBi, 6 dB over a dipole (a factor of 3.98): 50 mW, 199.05 mW, 326.57 mW
    ("conducted", "ERP", 50.0, 8.15, 199.05),
    ("conducted", "EIRP", 50.0, 8.15, 326.57),
    ("ERP", "conducted", 199.05, 8.15, 50.0),
    ("EIRP", "conducted", 326.57, 8.15, 50.0),
    # the antenna enters no conversion between radiated powers
    ("ERP", "EIRP", 100.0, 8.15, 164.06),
    # 10 dB down: a worn antenna of -10 dBi
    ("conducted", "EIRP", 50.0, -10.0, 5.0),
]


@pytest.mark.parametrize(("have", "want", "power_mw", "gain_dbi", "expected_mw"), WORKED)
def test_worked_conversions(
    have: str, want: str, power_mw: float, gain_dbi: float, expected_mw: float
) -> None:
    found = convert_power_mw(power_mw, have, want, antenna_gain_dbi=gain_dbi)
    assert found == pytest.approx(expected_mw, abs=0.01)  # mW; the figures above have two decimals


@pytest.mark.parametrize("kind", POWER_KINDS)
@pytest.mark.parametrize("other", POWER_KINDS)
def test_there_and_back(kind: str, other: str) -> None:
    there = convert_power_mw(50.0, kind, other, antenna_gain_dbi=5.0)
    back = convert_power_mw(there, other, kind, antenna_gain_dbi=5.0)
    assert back == pytest.approx(50.0, abs=1e-9)  # mW; rounding of two powers of ten


def test_another_kind_is_refused() -> None:
    with pytest.raises(KeyError, match="EiRP"):
        convert_power_mw(50.0, "EIRP", "EiRP")


SETTINGS_MW = (5.0, 10.0, 30.0, 50.0, 100.0, 250.0)
CHOSEN = [
    # setting kind, limit, limit kind, expected setting
    ("EIRP", 50.0, "EIRP", 50.0),
    ("ERP", 50.0, "EIRP", 30.0),  # 30 mW ERP is 49.2 mW EIRP
    ("conducted", 50.0, "EIRP", 30.0),  # from a dipole 49.2 mW EIRP
    ("EIRP", 50.0, "ERP", 50.0),  # 82.03 mW EIRP would do
    ("EIRP", 61.0, "ERP", 100.0),  # 100 mW EIRP is 60.95 mW ERP
    ("conducted", 50.0, "ERP", 50.0),
    ("ERP", 50.0, "ERP", 50.0),
    ("conducted", 250.0, "conducted", 250.0),
    ("EIRP", 250.0, "conducted", 250.0),  # taken as if the antenna had no gain
    ("ERP", 250.0, "conducted", 100.0),  # 250 mW ERP is 410 mW EIRP
]


@pytest.mark.parametrize(("kind", "limit_mw", "limit_kind", "expected"), CHOSEN)
def test_the_highest_lawful_setting(
    kind: str, limit_mw: float, limit_kind: str, expected: float
) -> None:
    found = lawful_power_mw(SETTINGS_MW, kind, limit_mw=limit_mw, limit_kind=limit_kind)
    assert found == expected


def test_the_antenna_lowers_a_conducted_setting_and_never_raises_a_radiated_one() -> None:
    def chosen(kind: str, limit_kind: str, gain_dbi: float) -> float | None:
        return lawful_power_mw(
            SETTINGS_MW, kind, limit_mw=50.0, limit_kind=limit_kind, antenna_gain_dbi=gain_dbi
        )

    assert chosen("conducted", "EIRP", 0.0) == 50.0
    assert chosen("conducted", "EIRP", 6.0) == 10.0  # 10 mW with 6 dBi is 39.8 mW EIRP
    assert chosen("EIRP", "conducted", 6.0) == 50.0  # truly 12.6 mW at the connector
    assert chosen("EIRP", "conducted", -3.0) == 10.0  # 30 mW EIRP asks for 59.9 mW there
    assert chosen("EIRP", "EIRP", 20.0) == 50.0


def test_no_setting_is_low_enough() -> None:
    assert lawful_power_mw((10.0, 50.0), "EIRP", limit_mw=9.99, limit_kind="EIRP") is None
