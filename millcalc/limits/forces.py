"""What the cut asks of spindle, axes, cutter and frame."""

from __future__ import annotations

from millcalc.limits import tuning
from millcalc.limits.row import Need
from millcalc.limits.state import State
from millcalc.limits.tooling import core_diameter_mm
from millcalc.mechanics.deflection import root_stress_n_mm2
from millcalc.mechanics.kienzle import torque_nm


def spindle_power(state: State) -> Need:
    """Cutting power (upper set) against the shaft power at this speed."""
    tooling = state.tooling
    return Need(
        state.power_w(2),
        tooling.available_power_w(state.speed_rpm) * tooling.margins.power,
        "shaft power of the spindle at this speed",
        tooling.machine.spindle.power_source,
    )


def spindle_torque(state: State) -> Need:
    """Mean cutting torque (upper set) against the spindle's torque at this speed."""
    tooling = state.tooling
    speed = state.speed_rpm
    return Need(
        torque_nm(state.power_w(2), speed),
        torque_nm(tooling.available_power_w(speed) * tooling.margins.power, speed),
        "torque of the spindle at this speed",
        tooling.machine.spindle.power_source,
    )


def axis_thrust(state: State) -> Need:
    """Mean force along the axes (upper set) against half of the push at which one stalls."""
    limit, which = state.push_limit
    return Need(
        state.push_n(2),
        limit * state.tooling.margins.thrust,
        f"half of the push at which {which} stalls and loses steps",
        state.tooling.machine.thrust_n.source,
    )


def cutter_strength(state: State) -> Need:
    """Bending stress of the cutter under the peak force (upper set) against what its material bears."""
    tooling, cutter = state.tooling, state.tooling.cutter
    force_n = state.loads(2).peak_n
    per_newton = root_stress_n_mm2(
        1.0,
        core_diameter_mm(cutter),
        min(cutter.flute_length_mm, tooling.stickout_mm),
        cutter.shank_mm,
        tooling.stickout_mm,
        load_height_mm=state.load_height_mm,
    )
    limit = tuning.HSS_STRESS_N_MM2 if cutter.material == "hss" else tuning.CARBIDE_STRESS_N_MM2
    return Need(force_n * per_newton, limit, "bending stress the cutter bears at its root", "estimate")


def deflection(state: State) -> Need:
    """Deflection of cutter, spindle and frame in series (nominal set) against the allowance."""
    given = state.tooling.finishing_mm if state.request.finish else state.tooling.roughing_mm
    material = state.tooling.material
    value = material.finishing_deflection_mm if state.request.finish else material.roughing_deflection_mm
    return Need(
        state.deflection_mm(1),
        state.deflection_allowed_mm,
        f"deflection allowed for {'finishing' if state.request.finish else 'roughing'}"
        + (" (given)" if given else ""),
        "given by you" if given else value.source,
    )
