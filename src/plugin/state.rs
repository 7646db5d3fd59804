//! Saved state. The framework saves every parameter by its id and the plugin's version; this is
//! where states of other versions are made whole.

use crate::params::FourlimbParams;
use crate::project::document::SavedDocument;
use nice_plug::prelude::*;
use serde_json::{Value, json};

/// Gives every parameter that a state does not mention its default, so that loading a state always
/// ends in the same place; the framework would leave it where it happens to be. Main thread, or
/// audio thread in some hosts' preset loads, where allocating is the framework's to answer for.
pub fn fill_in(state: &mut PluginState) {
    let defaults = FourlimbParams::default();
    make_one(state);
    for (id, param, _group) in defaults.param_map() {
        if state.params.contains_key(&id) {
            continue;
        }
        // The framework does not export the type of a saved value, only its serde form.
        if let Ok(value) = serde_json::from_value(saved_default(param)) {
            state.params.insert(id, value);
        }
    }
}

/// The field of the state that holds the project's document.
const PROJECT: &str = "project";

/// Makes one document of the fields that a state of schema 1 held apart, and an empty one where a state mentions
/// none: loading a state always ends in the same place.
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
