//! Saved state. The framework saves every parameter by its id, and the plugin's version. This module completes
//! states of other versions.

use crate::params::FourlimbParams;
use crate::project::document::SavedDocument;
use nice_plug::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Sets every parameter that a state does not contain to its default, so that loading a state always gives the same
/// result; the framework would keep its present value. Main thread, or in some hosts the audio thread during a
/// preset load, where the framework already allocates.
pub fn fill_in(state: &mut PluginState) {
    let defaults = FourlimbParams::default();
    let params = defaults.param_map();
    make_one(state);
    keep_newer(state, &params.iter().map(|(id, ..)| id.as_str()).collect());
    for (id, param, _group) in params {
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

/// The field of the document that holds what a newer version saved beside it: parameters and fields of the state.
const NEWER: &str = "newer_state";

/// Moves parameters and fields that this version does not know into the document, which keeps and saves what it can't
/// read; the framework would drop them. Those that an older version moved there, and this one knows, go back.
fn keep_newer(state: &mut PluginState, known: &BTreeSet<&str>) {
    let text = state.fields.get(PROJECT);
    let document = text.and_then(|text| serde_json::from_str(text).ok());
    let Some(Value::Object(mut document)) = document else {
        return;
    };
    let moved = document.remove(NEWER);
    let part = |name: &str| {
        let part = moved
            .as_ref()
            .and_then(|moved| moved.get(name)?.as_object().cloned());
        part.unwrap_or_default()
    };
    let (mut params, mut fields) = (part("params"), part("fields"));
    let strange = |id: &String| !known.contains(id.as_str());
    for (id, value) in state.params.extract_if(.., |id, _| strange(id)) {
        params.insert(id, serde_json::to_value(value).unwrap_or_default());
    }
    for (name, text) in state.fields.extract_if(.., |name, _| name != PROJECT) {
        fields.insert(name, text.into());
    }
    params.retain(|id, value| {
        let value = serde_json::from_value(value.clone());
        match value {
            Ok(value) if known.contains(id.as_str()) => {
                state.params.entry(id.clone()).or_insert(value);
                false
            }
            _ => true,
        }
    });
    if moved.is_none() && params.is_empty() && fields.is_empty() {
        return;
    }
    if !(params.is_empty() && fields.is_empty()) {
        document.insert(
            NEWER.to_owned(),
            json!({ "params": params, "fields": fields }),
        );
    }
    state
        .fields
        .insert(PROJECT.to_owned(), Value::Object(document).to_string());
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
