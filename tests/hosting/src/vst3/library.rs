//! A VST3 library: loaded, asked for its classes, unloaded when it is dropped.

#![expect(
    unsafe_code,
    reason = "a library's symbols and its factory are the foreign side"
)]

use super::{ok, utf8, utf16};
use anyhow::{Context, Result, ensure};
use libloading::os::unix::Library as Loaded;
use std::ffi::c_void;
use std::path::Path;
use vst3::ComPtr;
use vst3::Steinberg::{
    IPluginFactory, IPluginFactory2, IPluginFactory2Trait, IPluginFactory3, IPluginFactory3Trait,
    IPluginFactoryTrait, PClassInfo, PClassInfo2, PClassInfoW, PFactoryInfo,
};

/// A library that is loaded.
pub struct Library {
    factory: Option<ComPtr<IPluginFactory>>,
    /// `None` where it is a part of this program.
    loaded: Option<Loaded>,
}

/// What the factory says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FactoryInfo {
    /// Who made it.
    pub vendor: String,
    /// Where to read of it.
    pub url: String,
    /// Whom to write to.
    pub email: String,
    /// The standard's `FactoryFlags`.
    pub flags: i32,
}

/// What the factory says of a class.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClassInfo {
    /// Its id.
    pub id: [u8; 16],
    /// How many instances there may be: the standard's `ClassCardinality`.
    pub cardinality: i32,
    /// What it is: "Audio Module Class" for a plugin.
    pub category: String,
    /// Its name.
    pub name: String,
    /// What kind of plugin it is, words with `|` between.
    pub sub_categories: String,
    /// Who made it.
    pub vendor: String,
    /// Its version.
    pub version: String,
    /// The version of the standard that it was made for.
    pub sdk_version: String,
}

impl Library {
    /// Loads a library, the file inside a bundle.
    ///
    /// # Errors
    /// Where it can't be loaded or is no VST3 library.
    pub fn load(path: &Path) -> Result<Self> {
        // SAFETY: the library's constructors are as sound as the library, which is the plugin under test.
        let loaded = unsafe { Loaded::open(Some(path), libc_flags()) };
        let handle = loaded
            .with_context(|| format!("could not load {}", path.display()))?
            .into_raw();
        // SAFETY: the handle comes from the line before, and nobody else has it.
        let loaded = unsafe { Loaded::from_raw(handle) };
        // SAFETY: the standard gives this symbol this type.
        let entry =
            unsafe { loaded.get::<unsafe extern "C" fn(*mut c_void) -> bool>(b"ModuleEntry") };
        let entry = entry.context("the library has no ModuleEntry")?;
        // SAFETY: called once after loading, with the library's handle, as the standard wants it.
        ensure!(unsafe { entry(handle) }, "ModuleEntry refused");
        // SAFETY: the standard gives this symbol this type.
        let get = unsafe {
            loaded.get::<unsafe extern "system" fn() -> *mut IPluginFactory>(b"GetPluginFactory")
        };
        let get = get.context("the library has no GetPluginFactory")?;
        // SAFETY: the symbol is the standard's, which says what it gives.
        let mut library = unsafe { Self::linked(*get) }?;
        library.loaded = Some(loaded);
        Ok(library)
    }

    /// The library that is linked into this program, by its `GetPluginFactory`.
    ///
    /// # Errors
    /// Where it has no factory.
    ///
    /// # Safety
    /// The function gives a factory with a reference of the caller's own, or null.
    pub unsafe fn linked(get: unsafe extern "system" fn() -> *mut IPluginFactory) -> Result<Self> {
        // SAFETY: the caller says what it gives.
        let factory = unsafe { ComPtr::from_raw(get()) };
        ensure!(factory.is_some(), "the library has no factory");
        Ok(Self {
            factory,
            loaded: None,
        })
    }

    pub(super) fn factory(&self) -> &ComPtr<IPluginFactory> {
        // Only `drop` takes it.
        self.factory.as_ref().expect("a library has its factory")
    }

    /// What the factory says of itself.
    ///
    /// # Errors
    /// Where it says nothing.
    pub fn info(&self) -> Result<FactoryInfo> {
        // SAFETY: numbers and arrays of numbers, for which zeros are values.
        let mut info: PFactoryInfo = unsafe { std::mem::zeroed() };
        // SAFETY: the structure outlives the call.
        let answer = unsafe { self.factory().getFactoryInfo(&raw mut info) };
        ok("getFactoryInfo", answer)?;
        Ok(FactoryInfo {
            vendor: utf8(&info.vendor),
            url: utf8(&info.url),
            email: utf8(&info.email),
            flags: info.flags,
        })
    }

    /// How many classes there are.
    pub fn class_count(&self) -> i32 {
        // SAFETY: a question without arguments.
        unsafe { self.factory().countClasses() }
    }

    /// What the factory says of a class, as it says it in its second interface.
    ///
    /// # Errors
    /// Where there is no such class, or the factory's other interfaces say something else.
    pub fn class(&self, index: i32) -> Result<ClassInfo> {
        // SAFETY: numbers and arrays of numbers, for which zeros are values.
        let mut info: PClassInfo2 = unsafe { std::mem::zeroed() };
        let second = self.factory().cast::<IPluginFactory2>();
        let second = second.context("the factory has no second interface")?;
        // SAFETY: the structure outlives the call.
        let answer = unsafe { second.getClassInfo2(index, &raw mut info) };
        ok("getClassInfo2", answer)?;
        let class = ClassInfo {
            id: info.cid.map(|byte| byte.to_ne_bytes()[0]),
            cardinality: info.cardinality,
            category: utf8(&info.category),
            name: utf8(&info.name),
            sub_categories: utf8(&info.subCategories),
            vendor: utf8(&info.vendor),
            version: utf8(&info.version),
            sdk_version: utf8(&info.sdkVersion),
        };
        let (first, third) = (self.first(index)?, self.third(index)?);
        ensure!(
            first == (class.id, class.category.clone(), class.name.clone()),
            "the first interface says {first:?}"
        );
        ensure!(third == class, "the third interface says {third:?}");
        Ok(class)
    }

    fn first(&self, index: i32) -> Result<([u8; 16], String, String)> {
        // SAFETY: numbers and arrays of numbers, for which zeros are values.
        let mut info: PClassInfo = unsafe { std::mem::zeroed() };
        // SAFETY: the structure outlives the call.
        let answer = unsafe { self.factory().getClassInfo(index, &raw mut info) };
        ok("getClassInfo", answer)?;
        let id = info.cid.map(|byte| byte.to_ne_bytes()[0]);
        Ok((id, utf8(&info.category), utf8(&info.name)))
    }

    fn third(&self, index: i32) -> Result<ClassInfo> {
        // SAFETY: numbers and arrays of numbers, for which zeros are values.
        let mut info: PClassInfoW = unsafe { std::mem::zeroed() };
        let third = self.factory().cast::<IPluginFactory3>();
        let third = third.context("the factory has no third interface")?;
        // SAFETY: the structure outlives the call.
        let answer = unsafe { third.getClassInfoUnicode(index, &raw mut info) };
        ok("getClassInfoUnicode", answer)?;
        Ok(ClassInfo {
            id: info.cid.map(|byte| byte.to_ne_bytes()[0]),
            cardinality: info.cardinality,
            category: utf8(&info.category),
            name: utf16(&info.name),
            sub_categories: utf8(&info.subCategories),
            vendor: utf16(&info.vendor),
            version: utf16(&info.version),
            sdk_version: utf16(&info.sdkVersion),
        })
    }

    /// Makes an instance of a class with an interface; `None` where the factory refuses.
    pub(super) fn create<I: vst3::Interface>(&self, class: &[u8; 16]) -> Option<ComPtr<I>> {
        let mut made = std::ptr::null_mut();
        let interface = I::IID;
        // SAFETY: both ids are of 16 bytes and outlive the call, and so does the pointer that is written.
        let answer = unsafe {
            self.factory().createInstance(
                class.as_ptr().cast(),
                interface.as_ptr().cast(),
                &raw mut made,
            )
        };
        if answer != vst3::Steinberg::kResultOk {
            return None;
        }
        // SAFETY: the factory made it with that interface, and its one reference is ours.
        unsafe { ComPtr::from_raw(made.cast()) }
    }

    /// Whether the factory makes anything of a class that it does not have.
    pub fn makes_what_it_does_not_have(&self) -> bool {
        self.create::<vst3::Steinberg::Vst::IComponent>(b"no such class...")
            .is_some()
    }
}

impl Drop for Library {
    fn drop(&mut self) {
        drop(self.factory.take());
        let Some(loaded) = &self.loaded else {
            return;
        };
        // SAFETY: the standard gives this symbol this type.
        let exit = unsafe { loaded.get::<unsafe extern "C" fn() -> bool>(b"ModuleExit") };
        if let Ok(exit) = exit {
            // SAFETY: called once before unloading. Plugins borrow the library, so none is left.
            unsafe { exit() };
        }
    }
}

/// As hosts load plugins: with all symbols found at once, and kept from other libraries.
fn libc_flags() -> i32 {
    libloading::os::unix::RTLD_NOW | libloading::os::unix::RTLD_LOCAL
}
