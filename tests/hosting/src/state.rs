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

/// What the plugin saves in a field beside its parameters.
///
/// # Errors
/// Where it can't be saved, or has no such field.
pub fn field(host: &mut Host, name: &str) -> Result<Value> {
    let state = json_of(&host.save()?)?;
    let text = state["fields"][name].as_str();
    let text = text.with_context(|| format!("no {name} in the plugin's state"))?;
    Ok(serde_json::from_str(text)?)
}

/// Gives the plugin another value of a field.
///
/// # Errors
/// Where the state can't be saved or loaded.
pub fn set_field(host: &mut Host, name: &str, value: &impl serde::Serialize) -> Result<()> {
    let mut state = json_of(&host.save()?)?;
    state["fields"][name] = serde_json::to_string(value)?.into();
    host.load(&state_of(&state))
}
