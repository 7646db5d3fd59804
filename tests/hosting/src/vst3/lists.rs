//! What goes into a block and comes out of it: events and changes of parameters.

#![expect(unsafe_code, reason = "the plugin hands over memory by its address")]
#![expect(non_upper_case_globals, reason = "the standard names its constants")]

use super::processing::{Change, NoteIn};
use crate::sent::Sent;
use anyhow::{Result, bail};
use std::cell::RefCell;
use vst3::Steinberg::Vst::Event_::EventTypes_::{kNoteOffEvent, kNoteOnEvent};
use vst3::Steinberg::Vst::{
    Event, IEventList, IEventListTrait, IParamValueQueue, IParamValueQueueTrait, IParameterChanges,
    IParameterChangesTrait, NoteOffEvent, NoteOnEvent,
};
use vst3::Steinberg::{kInvalidArgument, kResultFalse, kResultOk, tresult};
use vst3::{Class, ComPtr, ComWrapper};

/// Most events that a block may send; a host's list has an end as well.
const MOST_SENT: usize = 4096;

/// Events of one block.
pub(crate) struct Events(RefCell<Vec<Event>>);

impl Events {
    /// None yet, with room for [`MOST_SENT`]: nothing is allocated while a block runs.
    pub(crate) fn room() -> ComWrapper<Self> {
        ComWrapper::new(Self(RefCell::new(Vec::with_capacity(MOST_SENT))))
    }

    /// The notes that go in.
    pub(crate) fn of(notes: &[NoteIn]) -> ComWrapper<Self> {
        ComWrapper::new(Self(RefCell::new(notes.iter().map(event).collect())))
    }

    /// The notes that came out, of a block of `frames` samples, and how many other events.
    ///
    /// # Errors
    /// Where an event lies outside the block or comes after a later one, or is no number.
    pub(crate) fn sent(&self, frames: usize) -> Result<(Vec<Sent>, usize)> {
        let (mut notes, mut others, mut last) = (Vec::new(), 0, 0);
        for event in &*self.0.borrow() {
            let sample = u32::try_from(event.sampleOffset).unwrap_or(u32::MAX);
            if sample as usize >= frames || last > sample {
                bail!(
                    "the plugin sent an event at sample {sample} out of order or outside its block"
                );
            }
            last = sample;
            let (channel, key, velocity) = match u32::from(event.r#type) {
                kNoteOnEvent => {
                    // SAFETY: the type says which one it is.
                    let on = unsafe { event.__field0.noteOn };
                    (on.channel, on.pitch, Some(on.velocity))
                }
                kNoteOffEvent => {
                    // SAFETY: the type says which one it is.
                    let off = unsafe { event.__field0.noteOff };
                    (off.channel, off.pitch, None)
                }
                _ => {
                    others += 1;
                    continue;
                }
            };
            let (Ok(channel @ 0..=15), Ok(key @ 0..=127)) =
                (u8::try_from(channel), u8::try_from(key))
            else {
                bail!("the plugin sent a note on channel {channel} with key {key}");
            };
            if let Some(velocity) = velocity
                && !(0.0..=1.0).contains(&velocity)
            {
                bail!("the plugin sent a note of velocity {velocity}");
            }
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let velocity = velocity.map(|velocity| (velocity * 127.0).round() as u8);
            notes.push(Sent {
                sample,
                channel,
                key,
                velocity,
            });
        }
        Ok((notes, others))
    }
}

fn event(note: &NoteIn) -> Event {
    // SAFETY: numbers, for which zeros are values.
    let mut event: Event = unsafe { std::mem::zeroed() };
    event.sampleOffset = note.sample;
    if let Some(velocity) = note.velocity {
        event.r#type = u16::try_from(kNoteOnEvent).unwrap_or_default();
        event.__field0.noteOn = NoteOnEvent {
            channel: note.channel,
            pitch: note.key,
            tuning: 0.0,
            velocity,
            length: 0,
            noteId: -1,
        };
    } else {
        event.r#type = u16::try_from(kNoteOffEvent).unwrap_or_default();
        event.__field0.noteOff = NoteOffEvent {
            channel: note.channel,
            pitch: note.key,
            velocity: 0.0,
            noteId: -1,
            tuning: 0.0,
        };
    }
    event
}

impl Class for Events {
    type Interfaces = (IEventList,);
}

impl IEventListTrait for Events {
    unsafe fn getEventCount(&self) -> i32 {
        i32::try_from(self.0.borrow().len()).unwrap_or(i32::MAX)
    }

    unsafe fn getEvent(&self, index: i32, to: *mut Event) -> tresult {
        let events = self.0.borrow();
        let event = usize::try_from(index).ok().and_then(|i| events.get(i));
        let Some(event) = event.filter(|_| !to.is_null()) else {
            return kInvalidArgument;
        };
        // SAFETY: the plugin gave the address of an event.
        unsafe { to.write(*event) };
        kResultOk
    }

    unsafe fn addEvent(&self, event: *mut Event) -> tresult {
        if event.is_null() {
            return kInvalidArgument;
        }
        let mut events = self.0.borrow_mut();
        if events.len() == events.capacity() {
            return kResultFalse;
        }
        // SAFETY: the plugin gave the address of an event.
        events.push(unsafe { *event });
        kResultOk
    }
}

/// Changes of parameters in one block: a queue each.
pub(crate) struct Changes(Vec<ComPtr<IParamValueQueue>>);

/// The changes of one parameter, in the order in which they were given.
struct Queue {
    param: u32,
    points: Vec<(i32, f64)>,
}

impl Changes {
    pub(crate) fn of(changes: &[Change]) -> ComWrapper<Self> {
        let mut queues: Vec<Queue> = Vec::new();
        for change in changes {
            let point = (change.sample, change.value);
            match queues.iter_mut().find(|queue| queue.param == change.param) {
                Some(queue) => queue.points.push(point),
                None => queues.push(Queue {
                    param: change.param,
                    points: vec![point],
                }),
            }
        }
        let queues = queues.into_iter();
        let queues = queues.filter_map(|queue| ComWrapper::new(queue).to_com_ptr());
        ComWrapper::new(Self(queues.collect()))
    }
}

impl Class for Changes {
    type Interfaces = (IParameterChanges,);
}

impl IParameterChangesTrait for Changes {
    unsafe fn getParameterCount(&self) -> i32 {
        i32::try_from(self.0.len()).unwrap_or(i32::MAX)
    }

    unsafe fn getParameterData(&self, index: i32) -> *mut IParamValueQueue {
        let queue = usize::try_from(index).ok().and_then(|i| self.0.get(i));
        queue.map_or(std::ptr::null_mut(), ComPtr::as_ptr)
    }

    unsafe fn addParameterData(&self, _: *const u32, _: *mut i32) -> *mut IParamValueQueue {
        std::ptr::null_mut()
    }
}

impl Class for Queue {
    type Interfaces = (IParamValueQueue,);
}

impl IParamValueQueueTrait for Queue {
    unsafe fn getParameterId(&self) -> u32 {
        self.param
    }

    unsafe fn getPointCount(&self) -> i32 {
        i32::try_from(self.points.len()).unwrap_or(i32::MAX)
    }

    unsafe fn getPoint(&self, index: i32, sample: *mut i32, value: *mut f64) -> tresult {
        let point = usize::try_from(index).ok().and_then(|i| self.points.get(i));
        let Some(point) = point.filter(|_| !sample.is_null() && !value.is_null()) else {
            return kInvalidArgument;
        };
        // SAFETY: the plugin gave the addresses of two numbers.
        unsafe { (*sample, *value) = *point };
        kResultOk
    }

    unsafe fn addPoint(&self, _: i32, _: f64, _: *mut i32) -> tresult {
        kResultFalse
    }
}
