//! One plugin in the host: buses, parameters, state. Main thread.

#![expect(unsafe_code, reason = "the plugin's interfaces are the foreign side")]

use super::library::Library;
use super::processing::Processor;
use super::stream::Stream;
use super::view::View;
use super::{ok, utf16};
use anyhow::{Context, Result, bail, ensure};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};
use vst3::Steinberg::Vst::{
    BusInfo, IAudioProcessor, IAudioProcessorTrait, IComponent, IComponentHandler,
    IComponentHandlerTrait, IComponentTrait, IEditController, IEditControllerTrait, ParameterInfo,
    ProcessSetup, String128,
};
use vst3::Steinberg::{IBStream, IPluginBaseTrait, kResultOk, tresult};
use vst3::{Class, ComPtr, ComWrapper};

/// A plugin that is component and controller in one.
pub struct Plugin<'l> {
    component: ComPtr<IComponent>,
    processor: ComPtr<IAudioProcessor>,
    controller: ComPtr<IEditController>,
    asked: Arc<AtomicUsize>,
    library: &'l Library,
}

/// A parameter as the plugin describes it.
#[derive(Debug, Clone)]
pub struct Param {
    /// Its id.
    pub id: u32,
    /// Its name.
    pub name: String,
    /// Its unit, which its texts leave out.
    pub units: String,
    /// How many steps it has; 0 for one that is continuous.
    pub steps: i32,
    /// Its default, normalised.
    pub default: f64,
    /// The standard's `ParameterFlags`.
    pub flags: i32,
}

/// A bus as the plugin describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bus {
    /// Its name.
    pub name: String,
    /// How many channels it has.
    pub channels: i32,
    /// 0 for a main bus, 1 for an auxiliary one.
    pub kind: i32,
    /// The standard's `BusFlags`.
    pub flags: u32,
}

/// What the plugin asks of the host, counted.
struct Handler(Arc<AtomicUsize>);

impl Class for Handler {
    type Interfaces = (IComponentHandler,);
}

impl IComponentHandlerTrait for Handler {
    unsafe fn beginEdit(&self, _: u32) -> tresult {
        kResultOk
    }

    unsafe fn performEdit(&self, _: u32, _: f64) -> tresult {
        kResultOk
    }

    unsafe fn endEdit(&self, _: u32) -> tresult {
        kResultOk
    }

    unsafe fn restartComponent(&self, _: i32) -> tresult {
        self.0.fetch_add(1, Relaxed);
        kResultOk
    }
}

impl<'l> Plugin<'l> {
    /// Makes an instance of the library's first class.
    ///
    /// # Errors
    /// Where it can't be made, or its controller is another object, which this host does not know.
    pub fn new(library: &'l Library) -> Result<Self> {
        let class = library.class(0)?;
        let component = library.create::<IComponent>(&class.id);
        let component = component.context("the factory does not make its first class")?;
        // SAFETY: called once, after the instance is made; no host context is a host that offers nothing.
        ok("initialize", unsafe {
            component.initialize(std::ptr::null_mut())
        })?;
        let processor = component.cast().context("the plugin has no processor")?;
        let controller = component.cast::<IEditController>();
        let controller = controller.context("the controller is another object")?;
        let asked = Arc::new(AtomicUsize::new(0));
        let handler = ComWrapper::new(Handler(asked.clone()));
        let handler = handler.to_com_ptr::<IComponentHandler>();
        let handler = handler.context("the handler has its interface")?;
        // SAFETY: the plugin takes a reference of its own.
        ok("setComponentHandler", unsafe {
            controller.setComponentHandler(handler.as_ptr())
        })?;
        Ok(Self {
            component,
            processor,
            controller,
            asked,
            library,
        })
    }

    /// The library that it is of.
    pub fn library(&self) -> &'l Library {
        self.library
    }

    /// How often it asked to be restarted, or to have its parameters read again.
    pub fn asked(&self) -> usize {
        self.asked.load(Relaxed)
    }

    /// The buses of a kind: `is_event` for those of events, `is_output` for those that go out.
    ///
    /// # Errors
    /// Where the plugin does not describe one that it has, or describes one that it has not.
    pub fn buses(&self, is_event: bool, is_output: bool) -> Result<Vec<Bus>> {
        let (media, direction) = (i32::from(is_event), i32::from(is_output));
        // SAFETY: a question with numbers.
        let count = unsafe { self.component.getBusCount(media, direction) };
        let describe = |index| {
            // SAFETY: numbers and arrays of numbers, for which zeros are values.
            let mut bus: BusInfo = unsafe { std::mem::zeroed() };
            // SAFETY: the structure outlives the call.
            let answer = unsafe {
                self.component
                    .getBusInfo(media, direction, index, &raw mut bus)
            };
            ok("getBusInfo", answer).map(|()| Bus {
                name: utf16(&bus.name),
                channels: bus.channelCount,
                kind: bus.busType,
                flags: bus.flags,
            })
        };
        ensure!(
            describe(count).is_err() && describe(i32::MAX).is_err(),
            "the plugin describes a bus that it has not"
        );
        (0..count).map(describe).collect()
    }

    /// Switches the plugin on. `sample_rate` in Hz, blocks of up to `most` samples.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn activate(&self, sample_rate: f64, most: i32) -> Result<Processor<'l>> {
        self.deactivate()?;
        let mut setup = ProcessSetup {
            processMode: 0,
            symbolicSampleSize: 0,
            maxSamplesPerBlock: most,
            sampleRate: sample_rate,
        };
        // SAFETY: the structure outlives the call.
        let answer = unsafe { self.processor.setupProcessing(&raw mut setup) };
        ok("setupProcessing", answer)?;
        for (media, direction) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            // SAFETY: a question with numbers.
            let count = unsafe { self.component.getBusCount(media, direction) };
            for index in 0..count {
                // SAFETY: a call with numbers.
                let answer = unsafe { self.component.activateBus(media, direction, index, 1) };
                ok("activateBus", answer)?;
            }
        }
        // SAFETY: a call with a number.
        ok("setActive", unsafe { self.component.setActive(1) })?;
        // SAFETY: a call with a number.
        ok("setProcessing", unsafe { self.processor.setProcessing(1) })?;
        Ok(Processor::new(self.processor.clone(), sample_rate))
    }

    /// Switches it off. No block may run meanwhile.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn deactivate(&self) -> Result<()> {
        // SAFETY: a call with a number.
        ok("setProcessing", unsafe { self.processor.setProcessing(0) })?;
        // SAFETY: a call with a number.
        ok("setActive", unsafe { self.component.setActive(0) })
    }

    /// Its parameters.
    ///
    /// # Errors
    /// Where one is missing.
    pub fn params(&self) -> Result<Vec<Param>> {
        // SAFETY: a question without arguments.
        let count = unsafe { self.controller.getParameterCount() };
        let describe = |index| {
            // SAFETY: numbers and arrays of numbers, for which zeros are values.
            let mut info: ParameterInfo = unsafe { std::mem::zeroed() };
            // SAFETY: the structure outlives the call.
            let answer = unsafe { self.controller.getParameterInfo(index, &raw mut info) };
            ok("getParameterInfo", answer)?;
            Ok(Param {
                id: info.id,
                name: utf16(&info.title),
                units: utf16(&info.units),
                steps: info.stepCount,
                default: info.defaultNormalizedValue,
                flags: info.flags,
            })
        };
        (0..count).map(describe).collect()
    }

    /// A parameter's present value, normalised.
    pub fn value(&self, param: u32) -> f64 {
        // SAFETY: a question with a number.
        unsafe { self.controller.getParamNormalized(param) }
    }

    /// Sets a parameter's value, normalised, as the host's own controls do.
    ///
    /// # Errors
    /// Where the plugin refuses.
    pub fn set(&self, param: u32, value: f64) -> Result<()> {
        // SAFETY: a call with numbers.
        ok("setParamNormalized", unsafe {
            self.controller.setParamNormalized(param, value)
        })
    }

    /// The plain value of a normalised one, and back again.
    pub fn plain_and_back(&self, param: u32, value: f64) -> (f64, f64) {
        // SAFETY: questions with numbers.
        unsafe {
            let plain = self.controller.normalizedParamToPlain(param, value);
            (plain, self.controller.plainParamToNormalized(param, plain))
        }
    }

    /// The text of a normalised value.
    ///
    /// # Errors
    /// Where the plugin can't say.
    pub fn show(&self, param: u32, value: f64) -> Result<String> {
        let mut text: String128 = [0; 128];
        // SAFETY: the array outlives the call.
        let answer = unsafe {
            self.controller
                .getParamStringByValue(param, value, &raw mut text)
        };
        ok("getParamStringByValue", answer)?;
        Ok(utf16(&text))
    }

    /// The normalised value that a text stands for.
    ///
    /// # Errors
    /// Where the plugin can't read it.
    pub fn parse(&self, param: u32, text: &str) -> Result<f64> {
        let mut text: Vec<u16> = text.encode_utf16().chain([0]).collect();
        let mut value = 0.0;
        // SAFETY: the text ends with a zero, and both outlive the call.
        let answer = unsafe {
            self.controller
                .getParamValueByString(param, text.as_mut_ptr(), &raw mut value)
        };
        ok("getParamValueByString", answer)?;
        Ok(value)
    }

    /// The plugin's state, written from the start of an empty stream.
    ///
    /// # Errors
    /// Where the plugin can't save.
    pub fn save(&self) -> Result<Vec<u8>> {
        self.save_after(&[])
    }

    /// The same behind what a host has in the stream already; returns both.
    ///
    /// # Errors
    /// Where the plugin can't save.
    pub fn save_after(&self, head: &[u8]) -> Result<Vec<u8>> {
        let stream = Stream::new(head.to_vec(), head.len(), usize::MAX);
        let interface = stream.as_com_ref::<IBStream>();
        let interface = interface.context("a stream has its interface")?;
        // SAFETY: the stream outlives the call.
        let answer = unsafe { self.component.getState(interface.as_ptr()) };
        ok("getState", answer)?;
        Ok(stream.bytes())
    }

    /// Loads a state from a stream, whole.
    ///
    /// # Errors
    /// Where the plugin refuses it.
    pub fn load(&self, bytes: &[u8]) -> Result<()> {
        self.load_from(bytes, 0, usize::MAX)
    }

    /// Loads a state from a place in a stream that moves at most so many bytes at a time.
    ///
    /// # Errors
    /// Where the plugin refuses it.
    pub fn load_from(&self, bytes: &[u8], at: usize, most: usize) -> Result<()> {
        let stream = Stream::new(bytes.to_vec(), at, most);
        let interface = stream.as_com_ref::<IBStream>();
        let interface = interface.context("a stream has its interface")?;
        // SAFETY: the stream outlives the call.
        let answer = unsafe { self.component.setState(interface.as_ptr()) };
        ok("setState", answer)?;
        let stream = Stream::new(bytes.to_vec(), at, most);
        let interface = stream.as_com_ref::<IBStream>();
        let interface = interface.context("a stream has its interface")?;
        // SAFETY: the stream outlives the call.
        ok("setComponentState", unsafe {
            self.controller.setComponentState(interface.as_ptr())
        })
    }

    /// Makes the plugin's window; it is seen once it is attached. With or without the host's run loop.
    ///
    /// # Errors
    /// Where the plugin has none for X11.
    pub fn view(&self, has_run_loop: bool) -> Result<View<'_>> {
        // SAFETY: the name is the standard's own, and ends with a zero.
        let view = unsafe { self.controller.createView(c"editor".as_ptr()) };
        // SAFETY: the plugin made it, and its one reference is ours.
        let Some(view) = (unsafe { ComPtr::from_raw(view) }) else {
            bail!("the plugin has no window");
        };
        View::new(view, has_run_loop)
    }
}

impl Drop for Plugin<'_> {
    fn drop(&mut self) {
        // Nothing can be done about a refusal here.
        let _ = self.deactivate();
        // SAFETY: called once, as the last thing; the handler is let go before.
        unsafe {
            self.controller.setComponentHandler(std::ptr::null_mut());
            self.component.terminate();
        }
    }
}
