//! Saved state. The framework saves every parameter by its id, and the plugin's version. This module completes
//! states of other versions.

use crate::params::FourlimbParams;
use crate::project::document::SavedDocument;
use nice_plug::prelude::*;
use serde_json::{Value, json};

/// Sets every parameter that a state does not contain to its default, so that loading a state always gives the same
/// result; the framework would keep its present value. Main thread, or in some hosts the audio thread during a
/// preset load, where the framework already allocates.
pub fn fill_in(state: &mut PluginState) {
    let defaults = FourlimbParams::default();
    make_one(state);
    for (id, param, _group) in defaults.param_map() {
        if state.params.contains_key(&id) {
            continue;
        }
        // The framework exports only the serde form of a saved value, not its type.
        if let Ok(value) = serde_json::from_value(saved_default(param)) {
            state.params.insert(id, value);
        }
    }
}

/// The field of the state that holds the project's document.
const PROJECT: &str = "project";

/// Builds one document from the separate fields of a schema 1 state, and an empty one where a state has none, so
/// that loading a state always gives the same result.
fn make_one(state: &mut PluginState) {
    let parts = ["song", "riff", "seen", "view"].map(|name| state.fields.remove(name));
    if state.fields.contains_key(PROJECT) {
        return;
    }
    let document = SavedDocument::from_parts(parts);
    if let Ok(document) = serde_json::to_string(&document) {
        state.fields.insert(PROJECT.to_owned(), document);
    }
}

#[expect(unsafe_code, reason = "the framework lists parameters as raw pointers")]
fn saved_default(param: ParamPtr) -> Value {
    // SAFETY: the pointers come from `defaults` in `fill_in`, which outlives this call.
    unsafe {
        match param {
            ParamPtr::FloatParam(p) => json!({ "f32": (*p).default_plain_value() }),
            ParamPtr::IntParam(p) => json!({ "i32": (*p).default_plain_value() }),
            ParamPtr::BoolParam(p) => json!({ "bool": (*p).default_plain_value() }),
            ParamPtr::EnumParam(p) => json!({ "i32": (*p).default_plain_value() }),
        }
    }
}
