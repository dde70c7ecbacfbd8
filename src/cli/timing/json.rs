//! `timing --json`. What cannot be estimated is absent.

use serde_json::{Map, Value, json};

use super::Findings;
use crate::analysis::{Estimate, LegKick, RelativePhase, Sides};
use crate::cli::shared::out::micro;
use crate::model::cue::Side;
use crate::model::words;

/// The whole result.
pub fn in_json(findings: &Findings) -> Value {
    let timing = &findings.timing;
    let ms = |sides: &Sides<Estimate>| by_side(sides, |lag| estimate(&lag.map(|s| s * 1000.0)));
    let share = |sides: &Sides<Estimate>| by_side(sides, estimate);
    let degrees = |sides: &Sides<RelativePhase>| by_side(sides, relative_phase);
    let mut all = Object::new();
    all.put("format", Some(json!(1)));
    all.put("rate_spm", Some(estimate(&timing.rate_spm)));
    all.put("cycle_time_s", Some(estimate(&timing.cycle_s)));
    all.put("cycle_time_sd_s", timing.cycle_sd_s.map(micro));
    all.put(
        "right_entry_cycle",
        timing.right_entry.as_ref().map(estimate),
    );
    all.put("catch_after_entry_cycle", share(&timing.catch_after_entry));
    all.put("propulsive_cycle", share(&timing.propulsive));
    let mut idc = share(&timing.idc_percent);
    if let Some(mean) = &timing.idc_mean_percent {
        idc.get_or_insert_with(|| json!({}))["mean"] = estimate(mean);
    }
    all.put("idc_percent", idc);
    all.put(
        "idc_mode",
        timing
            .idc_mean_percent
            .map(|mean| json!(super::words::mode(&mean))),
    );
    all.put("beats_per_cycle", Some(json!(timing.beats_per_cycle)));
    all.put("kick", timing.kick().map(|kick| json!(kick.word())));
    all.put("kick_phase", by_side(&timing.kicks, kick_phase));
    all.put(
        "lag_ms",
        pairings(ms(&timing.lag_same_s), ms(&timing.lag_opposite_s)),
    );
    let cycles = |sides: &Sides<Estimate>| {
        by_side(sides, |lag| {
            estimate(&lag.map(|s| s / timing.cycle_s.value))
        })
    };
    all.put(
        "lag_cycle",
        pairings(cycles(&timing.lag_same_s), cycles(&timing.lag_opposite_s)),
    );
    all.put(
        "relative_phase_deg",
        pairings(
            degrees(&timing.relative_same),
            degrees(&timing.relative_opposite),
        ),
    );
    all.put(
        "nearest_pairing",
        timing
            .nearest
            .map(|nearest| json!(nearest.pairing.map_or("undecided", |p| p.word()))),
    );
    all.put(
        "pairings_apart_ms",
        timing.pairings_apart_s.map(|s| micro(s * 1000.0)),
    );
    all.put(
        "frames",
        timing.frames.map(|frames| {
            let mut part = Object::new();
            part.put("frame_rate_hz", Some(micro(frames.rate_hz)));
            part.put("mark_sd_ms", Some(micro(frames.mark_sd_s * 1000.0)));
            part.put("share_percent", Some(micro(frames.share * 100.0)));
            part.put("enough_hz", frames.enough_hz.map(micro));
            part.value()
        }),
    );
    all.put(
        "marking_error",
        findings.again.map(|error| {
            json!({
                "mark_sd_ms": micro(error.mark_sd_s * 1000.0),
                "shift_ms": estimate(&error.shift_s.map(|s| s * 1000.0)),
                "unmatched": error.unmatched,
            })
        }),
    );
    all.put(
        "behind_sound",
        findings.cued.as_ref().map(|cued| {
            let mut part = Object::new();
            part.put("set", Some(json!(cued.set.0)));
            part.put("follows", Some(json!(cued.follows)));
            part.put("hand_ms", ms(&cued.behind.hand_s));
            part.put("foot_ms", ms(&cued.behind.foot_s));
            let mut lead = Object::new();
            lead.put("arm", cued.lead_ms.0.map(|ms| json!(ms)));
            lead.put("kick", cued.lead_ms.1.map(|ms| json!(ms)));
            part.put("lead_ms", lead.filled());
            part.value()
        }),
    );
    all.put("set_aside", Some(json!(timing.set_aside)));
    all.put("missing", Some(json!(timing.missing)));
    all.put("notes", Some(json!(timing.notes)));
    all.put("caution", Some(json!(words::RATE_CAUTION)));
    all.value()
}

/// An object whose absent parts are left out.
struct Object(Map<String, Value>);

impl Object {
    fn new() -> Self {
        Self(Map::new())
    }

    fn put(&mut self, key: &str, value: Option<Value>) {
        if let Some(value) = value {
            self.0.insert(key.into(), value);
        }
    }

    fn value(self) -> Value {
        Value::Object(self.0)
    }

    /// Nothing where it is empty.
    fn filled(self) -> Option<Value> {
        (!self.0.is_empty()).then(|| self.value())
    }
}

fn estimate(estimate: &Estimate) -> Value {
    let mut object = Object::new();
    object.put("value", Some(micro(estimate.value)));
    object.put("lo", estimate.interval.map(|(low, _)| micro(low)));
    object.put("hi", estimate.interval.map(|(_, high)| micro(high)));
    object.put("n", Some(json!(estimate.n)));
    object.value()
}

fn by_side<T>(sides: &Sides<T>, write: impl Fn(&T) -> Value) -> Option<Value> {
    let mut object = Object::new();
    for side in Side::BOTH {
        object.put(&side.to_string(), sides.of(side).as_ref().map(&write));
    }
    object.filled()
}

fn pairings(same: Option<Value>, opposite: Option<Value>) -> Option<Value> {
    let mut object = Object::new();
    object.put("same_side", same);
    object.put("opposite_side", opposite);
    object.filled()
}

fn kick_phase(kick: &LegKick) -> Value {
    let circular = &kick.circular;
    let mut object = Object::new();
    object.put("mean_cycle", Some(phase(circular.mean)));
    object.put("resultant", Some(exactly(circular.r)));
    object.put("sd_cycle", circular.sd().map(micro));
    object.put("rayleigh_p", Some(exactly(circular.rayleigh_p())));
    object.put("n", Some(json!(circular.n)));
    object.put(
        "ci95_cycle",
        kick.interval
            .map(|(low, high)| json!([phase(low), phase(high)])),
    );
    object.value()
}

/// A phase from 0 to 1, which rounding must not make 1.
fn phase(value: f64) -> Value {
    let rounded = (value * 1e6).round() / 1e6;
    json!(if rounded >= 1.0 { 0.0 } else { rounded })
}

/// A P or a resultant: small ones would be rounded away.
fn exactly(value: f64) -> Value {
    json!(value)
}

fn relative_phase(phase: &RelativePhase) -> Value {
    let mut object = Object::new();
    object.put("mean", Some(micro(phase.mean_deg)));
    object.put("sd", phase.sd_deg.map(micro));
    object.put("class", Some(json!(phase.class())));
    object.put("n", Some(json!(phase.n)));
    object.value()
}
