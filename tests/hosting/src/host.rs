//! A CLAP host: loads a plugin, runs blocks with a transport and automation, and collects the notes that come out.
//! The session plays through it, and the hosted tests use it too.

pub use crate::blocks::{Automation, Blocks, Guitar, Transport};
use crate::handlers::{Handlers, Main, Shared};
pub use crate::sent::{Expressed, Sent};
pub use crate::window::Window;
use anyhow::{Context, Result};
use clack_extensions::audio_ports::PluginAudioPorts;
pub use clack_extensions::note_ports::{NoteDialect, NoteDialects};
use clack_extensions::note_ports::{NotePortInfoBuffer, PluginNotePorts};
use clack_extensions::params::{ParamInfoBuffer, PluginParams};
use clack_extensions::render::{PluginRender, RenderMode};
use clack_extensions::state::PluginState;
use clack_host::prelude::*;
use std::ffi::{CStr, CString};
use std::io::{Read, Write};
use std::sync::atomic::Ordering::Relaxed;

/// A parameter as the plugin describes it.
#[derive(Debug, Clone)]
pub struct Param {
    /// Its id.
    pub id: ClapId,
    /// Its name.
    pub name: String,
    /// Range and default, as CLAP values.
    pub range: (f64, f64),
    /// Its default, as a CLAP value.
    pub default: f64,
}

/// One plugin in the host.
pub struct Host {
    instance: PluginInstance<Handlers>,
    blocks: Blocks,
    params: Vec<Param>,
}

impl Host {
    /// Makes an instance of the first plugin of a loaded entry.
    ///
    /// # Errors
    /// Where the entry has no plugin or the plugin can't be made.
    pub fn new(entry: &PluginEntry) -> Result<Self> {
        Self::with(entry, |_| true, None)
    }

    /// The same in a host that says which dialects of notes it reads. A block with a note in another one is an error.
    ///
    /// # Errors
    /// As for [`Host::new`].
    pub fn that_reads(entry: &PluginEntry, dialects: NoteDialects) -> Result<Self> {
        Self::with(entry, |_| true, Some(dialects))
    }

    /// Makes an instance of the plugin with this CLAP id.
    ///
    /// # Errors
    /// Where the entry has no such plugin or it can't be made.
    pub fn with_id(entry: &PluginEntry, id: &str) -> Result<Self> {
        Self::with(entry, |found| found.to_bytes() == id.as_bytes(), None)
    }

    fn with(
        entry: &PluginEntry,
        wanted: impl Fn(&CStr) -> bool,
        reads: Option<NoteDialects>,
    ) -> Result<Self> {
        let factory = entry
            .get_plugin_factory()
            .context("the file has no plugin factory")?;
        let descriptor = factory
            .plugin_descriptors()
            .find(|descriptor| descriptor.id().is_some_and(&wanted))
            .context("the file has no such plugin")?;
        let id = descriptor.id().context("the plugin has no id")?;
        let info = HostInfo::new("Fourlimb session", "Fourlimb", "", "1")?;
        let mut instance = PluginInstance::<Handlers>::new(
            |()| Shared {
                reads,
                ..Shared::default()
            },
            |shared| Main { shared },
            entry,
            id,
            &info,
        )?;
        let params = list_params(&mut instance)?;
        let blocks = Blocks::new(inputs(&mut instance), reads.unwrap_or(NoteDialects::all()));
        Ok(Self {
            instance,
            blocks,
            params,
        })
    }

    /// The plugin's parameters.
    pub fn params(&self) -> &[Param] {
        &self.params
    }

    /// The parameter with this name.
    ///
    /// # Errors
    /// Where there is none.
    pub fn param(&self, name: &str) -> Result<&Param> {
        let found = self.params.iter().find(|param| param.name == name);
        found.with_context(|| format!("the plugin has no parameter \"{name}\""))
    }

    /// Switches the plugin on. `sample_rate` in Hz; blocks of up to `max_frames` samples.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn activate(&mut self, sample_rate: f64, max_frames: u32) -> Result<()> {
        self.activate_for(sample_rate, (1, max_frames))
    }

    /// The same with a least and a greatest length of blocks, in samples.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn activate_for(&mut self, sample_rate: f64, frames: (u32, u32)) -> Result<()> {
        self.deactivate();
        let config = PluginAudioConfiguration {
            sample_rate,
            min_frames_count: frames.0,
            max_frames_count: frames.1,
        };
        let processor = self.instance.activate(|_, _| (), config)?;
        let started = processor.start_processing();
        self.blocks.processor = Some(started.map_err(|error| anyhow::anyhow!("{error}"))?);
        Ok(())
    }

    /// How often the plugin asked to have the values of its parameters read again.
    pub fn rescans(&self) -> usize {
        let shared = |shared: &Shared| shared.rescans.load(Relaxed);
        self.instance.access_shared_handler(shared)
    }

    /// The dialect that the plugin prefers at its port of notes, out of it or into it; `None` where it has no such port.
    pub fn preferred_dialect(&mut self, is_input: bool) -> Option<NoteDialect> {
        let handle = self.instance.plugin_handle();
        let ports = handle.get_extension::<PluginNotePorts>()?;
        let mut buffer = NotePortInfoBuffer::new();
        ports
            .get(&handle, 0, is_input, &mut buffer)?
            .preferred_dialect
    }

    /// Tells the plugin that blocks come faster than they are heard, from the next activation on.
    ///
    /// # Errors
    /// Where the plugin does not know of that.
    pub fn render_offline(&mut self) -> Result<()> {
        let handle = self.instance.plugin_handle();
        let render = handle
            .get_extension::<PluginRender>()
            .context("no render extension")?;
        Ok(render.set(&handle, RenderMode::Offline)?)
    }

    /// Switches the plugin off.
    pub fn deactivate(&mut self) {
        if let Some(processor) = self.blocks.processor.take() {
            self.instance.deactivate(processor.stop_processing());
        }
    }

    /// Has the plugin clear its playing state.
    pub fn reset(&mut self) {
        if let Some(processor) = &mut self.blocks.processor {
            processor.reset();
        }
    }

    /// Sets a parameter by its name and a text, as a person would before pressing play: runs a block of
    /// `frames` samples at rest and returns the notes of it.
    ///
    /// # Errors
    /// As for [`Host::block`], and where there is no such parameter or the text makes no sense.
    pub fn set(&mut self, name: &str, text: &str, frames: u32) -> Result<Vec<Sent>> {
        let param = self.param(name)?.id;
        let change = Automation {
            sample: 0,
            param,
            value: self.parse(param, text)?,
        };
        self.block(&Transport::AT_REST, &[change], frames)
    }

    /// Runs one block and returns the notes of it.
    ///
    /// # Errors
    /// Where the plugin is off, reports an error, or breaks the rules of output events: out of
    /// order, or outside the block.
    pub fn block(
        &mut self,
        transport: &Transport,
        automation: &[Automation],
        frames: u32,
    ) -> Result<Vec<Sent>> {
        self.block_with(transport, automation, &Guitar::default(), frames)
    }

    /// The same, with a guitar at the plugin's inputs.
    ///
    /// # Errors
    /// As for [`Host::block`].
    pub fn block_with(
        &mut self,
        transport: &Transport,
        automation: &[Automation],
        guitar: &Guitar,
        frames: u32,
    ) -> Result<Vec<Sent>> {
        self.blocks.run(transport, automation, guitar, frames)
    }

    /// What the last block sent beside notes, in order: the sample, how many of its note events came before, and what.
    pub fn expressed(&self) -> &[(u32, usize, Expressed)] {
        &self.blocks.expressed
    }

    /// The sound of the last block: `frames` samples, as many as it had, left and right.
    pub fn heard(&self, frames: u32) -> [&[f32]; 2] {
        let frames = frames as usize;
        let [left, right] = &self.blocks.outputs;
        [&left[..frames], &right[..frames]]
    }

    /// Its two sides, as two threads have them: the blocks, for the audio thread, and the window, for this one.
    pub fn split(&mut self) -> (&mut Blocks, Window<'_>) {
        (&mut self.blocks, Window::of(&mut self.instance))
    }

    /// The plugin's state, as it would be saved in a project.
    ///
    /// # Errors
    /// Where the plugin can't save.
    pub fn save(&mut self) -> Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.save_to(&mut bytes)?;
        Ok(bytes)
    }

    /// The same to a stream, which may take few bytes at a time.
    ///
    /// # Errors
    /// As [`Host::save`].
    pub fn save_to(&mut self, to: &mut impl Write) -> Result<()> {
        let handle = self.instance.plugin_handle();
        let state = handle
            .get_extension::<PluginState>()
            .context("no state extension")?;
        state
            .save(&handle, to)
            .context("the plugin could not save its state")
    }

    /// Loads a state.
    ///
    /// # Errors
    /// Where the plugin refuses it.
    pub fn load(&mut self, mut bytes: &[u8]) -> Result<()> {
        self.load_from(&mut bytes)
    }

    /// The same from a stream, which may give few bytes at a time.
    ///
    /// # Errors
    /// As [`Host::load`].
    pub fn load_from(&mut self, from: &mut impl Read) -> Result<()> {
        let handle = self.instance.plugin_handle();
        let state = handle
            .get_extension::<PluginState>()
            .context("no state extension")?;
        state
            .load(&handle, from)
            .context("the plugin refused the state")
    }

    /// A parameter's present value, as a CLAP value.
    pub fn value(&mut self, param: ClapId) -> Option<f64> {
        let handle = self.instance.plugin_handle();
        let params = handle.get_extension::<PluginParams>()?;
        params.get_value(&handle, param)
    }

    /// The value that a text stands for, as the plugin reads it.
    ///
    /// # Errors
    /// Where the plugin can't read the text.
    pub fn parse(&mut self, param: ClapId, text: &str) -> Result<f64> {
        let handle = self.instance.plugin_handle();
        let params = handle
            .get_extension::<PluginParams>()
            .context("no parameters")?;
        let text = CString::new(text)?;
        params
            .text_to_value(&handle, param, &text)
            .with_context(|| format!("the plugin does not understand {text:?}"))
    }

    /// The text of a value, as the plugin shows it.
    ///
    /// # Errors
    /// Where the plugin can't say.
    pub fn show(&mut self, param: ClapId, value: f64) -> Result<String> {
        let handle = self.instance.plugin_handle();
        let params = handle
            .get_extension::<PluginParams>()
            .context("no parameters")?;
        let mut buffer = [0; 256];
        let text = params.value_to_text(&handle, param, value, &mut buffer)?;
        let text = text.split(|byte| *byte == 0).next().unwrap_or_default();
        Ok(String::from_utf8_lossy(text).into_owned())
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        self.deactivate();
    }
}

/// How many audio inputs a plugin has.
fn inputs(instance: &mut PluginInstance<Handlers>) -> usize {
    let handle = instance.plugin_handle();
    let ports = handle.get_extension::<PluginAudioPorts>();
    ports.map_or(0, |ports| ports.count(&handle, true) as usize)
}

fn list_params(instance: &mut PluginInstance<Handlers>) -> Result<Vec<Param>> {
    let handle = instance.plugin_handle();
    let mut list = Vec::new();
    let Some(params) = handle.get_extension::<PluginParams>() else {
        return Ok(list);
    };
    for i in 0..params.count(&handle) {
        let mut buffer = ParamInfoBuffer::new();
        let info = params
            .get_info(&handle, i, &mut buffer)
            .context("a parameter is missing")?;
        list.push(Param {
            id: info.id,
            name: String::from_utf8_lossy(info.name).into_owned(),
            range: (info.min_value, info.max_value),
            default: info.default_value,
        });
    }
    Ok(list)
}
