//! The plugin's saved state: JSON after its length in 8 bytes, little-endian, as the framework writes it.

use crate::host::Host;
use anyhow::{Context, Result};
use serde_json::Value;

/// A state's JSON.
///
/// # Errors
/// Where it is none.
pub fn json_of(state: &[u8]) -> Result<Value> {
    Ok(serde_json::from_slice(state.get(8..).unwrap_or_default())?)
}

/// The state of a JSON.
pub fn state_of(json: &Value) -> Vec<u8> {
    let text = json.to_string();
    let mut state = (text.len() as u64).to_le_bytes().to_vec();
    state.extend(text.bytes());
    state
}

/// The field that holds the project's document, as JSON text.
const PROJECT: &str = "project";

/// The project's document in a state's JSON.
///
/// # Errors
/// Where there is none.
pub fn document_of(state: &Value) -> Result<Value> {
    let text = state["fields"][PROJECT].as_str();
    let text = text.context("no project in the plugin's state")?;
    Ok(serde_json::from_str(text)?)
}

/// Puts a document into a state's JSON.
pub fn set_document(state: &mut Value, document: &Value) {
    state["fields"][PROJECT] = document.to_string().into();
}

/// A part of the project's document, as the plugin saves it.
///
/// # Errors
/// Where it can't be saved.
pub fn part(host: &mut Host, name: &str) -> Result<Value> {
    let state = json_of(&host.save()?)?;
    Ok(document_of(&state)?[name].take())
}

/// Gives the plugin another value of a part of its project.
///
/// # Errors
/// Where the state can't be saved or loaded.
pub fn set_part(host: &mut Host, name: &str, value: &impl serde::Serialize) -> Result<()> {
    let mut state = json_of(&host.save()?)?;
    let mut document = document_of(&state)?;
    document[name] = serde_json::to_value(value)?;
    set_document(&mut state, &document);
    host.load(&state_of(&state))
}
