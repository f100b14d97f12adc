"""From the keys of a catalogue part to the part itself."""

from __future__ import annotations

from typing import cast

from loomwright.facts import conductors
from loomwright.rig import model as m
from loomwright.rig import part_keys as k
from loomwright.rig.plans import plan
from loomwright.rig.terminals import terminals


def part(part_id: str, keys: k.PartKeys) -> m.Part:
    """The part that a checked table describes."""
    size = cast(tuple[float, float, float], tuple(keys.size_mm)) if keys.size_mm is not None else None
    return m.Part(
        id=part_id,
        family=keys.family,  # type: ignore[attr-defined]
        title=keys.title,
        terminals=terminals(keys),
        spec=spec(keys),
        ways=keys.ways if isinstance(keys, k.FusedBlockKeys | k.PlainBlockKeys) else 0,
        size_mm=size,
        mass_g=keys.mass_g,
        price=keys.price,
        demo=keys.demo,
        plan=plan(keys),
    )


def spec(keys: k.PartKeys) -> m.Spec:
    """The figures of a part, by family."""
    match keys:
        case k.BatteryKeys():
            return m.BatterySpec(
                chemistry=keys.chemistry, capacity_ah=keys.capacity_ah, resistance_mohm=keys.resistance_mohm,
                cca_a=keys.cca_a, rest_table=keys.rest_table, charge_min_v=keys.charge_min_v,
                charge_max_v=keys.charge_max_v, max_charge_a=keys.max_charge_a, acceptance_c=keys.acceptance_c,
                peukert=keys.peukert, bms_limit_a=keys.bms_limit_a,
            )  # fmt: skip
        case k.ChargerKeys():
            return m.ChargerSpec(
                kind=keys.kind, rpm=tuple(keys.rpm), current_a=tuple(keys.current_a), regulator_v=keys.regulator_v,
                regulator_mohm=keys.regulator_mohm, temperature_mv_per_c=keys.temperature_mv_per_c,
            )  # fmt: skip
        case k.DcdcKeys():
            return m.DcdcSpec(keys.output_v, keys.limit_a, keys.efficiency, keys.start_v, keys.regulator_mohm)
        case k.IsolatorKeys():
            return m.IsolatorSpec(keys.kind, keys.rating_a, keys.contact_mohm, keys.drop_v)
        case k.AmplifierKeys():
            return m.AmplifierSpec(
                amplifier_class=keys.amplifier_class, channels=keys.channels, output_4ohm_w=keys.output_4ohm_w,
                output_2ohm_w=keys.output_2ohm_w, rated_v=keys.rated_v, min_load_ohm=keys.min_load_ohm,
                bridged_4ohm_w=keys.bridged_4ohm_w, min_bridged_ohm=keys.min_bridged_ohm, supply=keys.supply,
                idle_a=keys.idle_a, efficiency_full=keys.efficiency_full, efficiency_eighth=keys.efficiency_eighth,
                min_v=keys.min_v, remote_ma=keys.remote_ma, balanced_input=keys.balanced_input,
                signal_ground_ohm=keys.signal_ground_ohm, own_fuses_a=tuple(keys.own_fuses_a),
                own_fuse_type=keys.own_fuse_type, speaker_inputs=keys.speaker_inputs,
                speaker_inputs_float=keys.speaker_inputs_float, gain_low_v=keys.gain_low_v,
                gain_high_v=keys.gain_high_v, snr_db=keys.snr_db, wake_ms=keys.wake_ms, sleep_ms=keys.sleep_ms,
            )  # fmt: skip
        case k.LoadKeys():
            return _load(keys)
        case k.HolderKeys() | k.FusedBlockKeys():
            return m.FuseSpec(
                keys.type, keys.max_rating_a, keys.contact_mohm, rating_a=None, interrupting_a=keys.interrupting_a
            )
        case k.BreakerKeys():
            return m.FuseSpec(keys.type, keys.rating_a, keys.contact_mohm, keys.rating_a, keys.interrupting_a)
        case k.PlainBlockKeys() | k.SwitchKeys() | k.BusKeys() | k.FrameKeys() | k.SpliceKeys():
            return m.BarSpec(keys.path_mohm, keys.rating_a)
        case k.RelayKeys():
            return m.RelaySpec(
                keys.coil_ma, keys.contact_rating_a, keys.contact_mohm, keys.diode, keys.pull_in_ms, keys.drop_out_ms
            )
        case k.ConnectorKeys():
            return m.ConnectorSpec(
                keys.contacts, keys.contact_a, keys.contact_mohm, keys.min_mm2, keys.max_mm2, keys.sealed, keys.halves,
                keys.keyings,
            )
        case k.DriverKeys():
            return m.DriverSpec(
                nominal_ohm=keys.nominal_ohm, rated_w=keys.rated_w, re_ohm=keys.re_ohm, le_mh=keys.le_mh,
                le_exponent=keys.le_exponent, fs_hz=keys.fs_hz, qms=keys.qms, qes=keys.qes, vas_l=keys.vas_l,
                sd_cm2=keys.sd_cm2, xmax_mm=keys.xmax_mm, sensitivity_db=keys.sensitivity_db, lowest_hz=keys.lowest_hz,
            )  # fmt: skip
        case k.PassiveKeys():
            return m.PassiveSpec(
                element=keys.element, value=passive_value(keys) or 0.0, rated_v=keys.rated_v, rated_w=keys.rated_w,
                series_mohm=keys.series_mohm, rated_a=keys.rated_a, dcr_ohm=keys.dcr_ohm,
                tolerance_pct=keys.tolerance_pct, capacitor_type=keys.capacitor_type,
                capacitance_f=None if keys.capacitance_uf is None else keys.capacitance_uf * 1e-6,
                attenuation_db=keys.attenuation_db,
            )  # fmt: skip
        case k.WireStockKeys():
            size = conductors.parse_size(keys.size).label
            return m.WireStockSpec(size, keys.metal, keys.insulation_c, keys.cores, keys.spool_mm, keys.screened)
        case _:  # pragma: no cover
            raise TypeError(type(keys).__name__)


def passive_value(keys: k.PassiveKeys) -> float | None:
    """Farads, henries or ohms of a passive part; None where the key that fits its element is missing."""
    match keys.element:
        case "capacitor":
            return None if keys.capacitance_uf is None else keys.capacitance_uf * 1e-6
        case "coil":
            return None if keys.inductance_mh is None else keys.inductance_mh * 1e-3
        case _:
            return keys.resistance_ohm


def _load(keys: k.LoadKeys) -> m.LoadSpec:
    processor = keys if isinstance(keys, k.ProcessorKeys) else None
    signal = keys if isinstance(keys, k.ProcessorKeys | k.SourceKeys) else None
    return m.LoadSpec(
        law=keys.law,
        draw_w=keys.draw_w,
        runs=keys.runs,
        min_v=keys.min_v,
        remote_in_ma=processor.remote_in_ma if processor else 0.0,
        remote_out_max_ma=signal.remote_out_max_ma if signal else 0.0,
        balanced_output=signal.balanced_output if signal else False,
        signal_ground_ohm=signal.signal_ground_ohm if signal else 0.01,
        channels=signal.outputs if signal else 0,
        safety=keys.safety if isinstance(keys, k.AccessoryKeys) else False,
        signal=_signal(signal) if signal else None,
    )


def _signal(keys: k.ProcessorKeys | k.SourceKeys) -> m.SignalSpec:
    """The signal side of a source unit or processor."""
    processor = keys if isinstance(keys, k.ProcessorKeys) else None
    source = keys if isinstance(keys, k.SourceKeys) else None
    return m.SignalSpec(
        output_max_v=keys.output_max_v,
        input_max_v=processor.input_max_v if processor else None,
        snr_db=keys.snr_db,
        settle_ms=keys.settle_ms,
        hold_ms=keys.hold_ms,
        mutes=keys.mutes,
        remote_out_on_ms=keys.remote_out_on_ms,
        remote_out_off_ms=keys.remote_out_off_ms,
        speaker_inputs=processor.speaker_inputs if processor else 0,
        speaker_inputs_float=processor.speaker_inputs_float if processor else True,
        speaker_input_max_v=processor.speaker_input_max_v if processor else None,
        speaker_outputs=source.speaker_outputs if source else 0,
        speaker_output_w=source.speaker_output_w if source else None,
        speaker_outputs_float=source.speaker_outputs_float if source else True,
        senses_load=source.senses_load if source else False,
    )
