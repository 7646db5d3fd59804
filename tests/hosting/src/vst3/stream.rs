//! What a state is written to and read from, whole or in pieces.

#![expect(unsafe_code, reason = "the plugin hands over memory by its address")]
#![expect(non_upper_case_globals, reason = "the standard names its constants")]

use std::cell::{Cell, RefCell};
use std::ffi::c_void;
use vst3::Steinberg::IBStream_::IStreamSeekMode_::{kIBSeekCur, kIBSeekEnd, kIBSeekSet};
use vst3::Steinberg::{
    IBStream, IBStreamTrait, kInvalidArgument, kResultFalse, kResultOk, tresult,
};
use vst3::{Class, ComWrapper};

/// Bytes with a place in them.
pub(crate) struct Stream {
    bytes: RefCell<Vec<u8>>,
    at: Cell<usize>,
    /// How many bytes a call moves at most.
    most: usize,
}

impl Stream {
    /// A stream of these bytes, at a place in them.
    pub(crate) fn new(bytes: Vec<u8>, at: usize, most: usize) -> ComWrapper<Self> {
        ComWrapper::new(Self {
            bytes: RefCell::new(bytes),
            at: Cell::new(at),
            most,
        })
    }

    /// What is in it now.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        self.bytes.borrow().clone()
    }
}

impl Class for Stream {
    type Interfaces = (IBStream,);
}

/// Writes a number where the plugin wants it, if it does.
fn tell<T>(to: *mut T, value: T) {
    if !to.is_null() {
        // SAFETY: the plugin gave the address of a number.
        unsafe { *to = value };
    }
}

impl IBStreamTrait for Stream {
    unsafe fn read(&self, buffer: *mut c_void, count: i32, read: *mut i32) -> tresult {
        let Ok(count) = usize::try_from(count) else {
            return kInvalidArgument;
        };
        let bytes = self.bytes.borrow();
        let left = &bytes[self.at.get().min(bytes.len())..];
        let left = &left[..left.len().min(count).min(self.most)];
        if !left.is_empty() {
            // SAFETY: the plugin has room for `count` bytes, and no more are copied.
            unsafe { std::ptr::copy_nonoverlapping(left.as_ptr(), buffer.cast(), left.len()) };
        }
        self.at.set(self.at.get() + left.len());
        tell(read, i32::try_from(left.len()).unwrap_or(i32::MAX));
        kResultOk
    }

    unsafe fn write(&self, buffer: *mut c_void, count: i32, written: *mut i32) -> tresult {
        let Ok(count) = usize::try_from(count) else {
            return kInvalidArgument;
        };
        let count = count.min(self.most);
        let at = self.at.get();
        let mut bytes = self.bytes.borrow_mut();
        let needed = bytes.len().max(at + count);
        bytes.resize(needed, 0);
        if count > 0 {
            // SAFETY: the plugin has `count` bytes there, and ours were made room for.
            let source = unsafe { std::slice::from_raw_parts(buffer.cast::<u8>(), count) };
            bytes[at..at + count].copy_from_slice(source);
        }
        self.at.set(at + count);
        tell(written, i32::try_from(count).unwrap_or(i32::MAX));
        kResultOk
    }

    unsafe fn seek(&self, pos: i64, mode: i32, result: *mut i64) -> tresult {
        let length = self.bytes.borrow().len();
        let from = match u32::try_from(mode) {
            Ok(kIBSeekSet) => 0,
            Ok(kIBSeekCur) => self.at.get(),
            Ok(kIBSeekEnd) => length,
            _ => return kInvalidArgument,
        };
        let place = i64::try_from(from).unwrap_or(i64::MAX).saturating_add(pos);
        let Ok(place) = usize::try_from(place) else {
            return kResultFalse;
        };
        self.at.set(place);
        tell(result, i64::try_from(place).unwrap_or(i64::MAX));
        kResultOk
    }

    unsafe fn tell(&self, pos: *mut i64) -> tresult {
        tell(pos, i64::try_from(self.at.get()).unwrap_or(i64::MAX));
        kResultOk
    }
}
