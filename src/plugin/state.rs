//! Saved state. The framework saves every parameter by its id and the plugin's version; this is
//! where states of other versions are made whole.

use super::params::FourlimbParams;
use super::view::Look;
use crate::riff::attacks;
use crate::time::observed;
use nice_plug::prelude::*;
use serde_json::{Value, json};

/// Gives every parameter that a state does not mention its default, so that loading a state always
/// ends in the same place; the framework would leave it where it happens to be. Main thread, or
/// audio thread in some hosts' preset loads, where allocating is the framework's to answer for.
pub fn fill_in(state: &mut PluginState) {
    let defaults = FourlimbParams::default();
    field(state, "riff", &attacks::Saved::default());
    field(state, "seen", &observed::Saved::default());
    field(state, "song", &Value::Null);
    field(state, "view", &Look::default());
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

/// Gives what is saved beside the parameters its default where a state does not mention it.
fn field(state: &mut PluginState, id: &str, default: &impl serde::Serialize) {
    if !state.fields.contains_key(id)
        && let Ok(default) = serde_json::to_string(default)
    {
        state.fields.insert(id.to_owned(), default);
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
