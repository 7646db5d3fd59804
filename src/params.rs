//! The host's parameters, generated from the table of settings. Ids, ranges and the order of choices are frozen:
//! hosts store automation as a fraction of the range (`tests/plugin/frozen.rs` holds the list).

use crate::project::Project;
use crate::project::document::SavedDocument;
use crate::settings::{Setting, SettingId, Settings, settings_table, whole};
use nice_plug::params::persist::PersistentField;
use nice_plug::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The parameter of each kind of setting.
#[allow(non_camel_case_types, reason = "kinds are written so in the table")]
mod kinds {
    use super::{BoolParam, FloatParam, IntParam};

    pub(super) type level = FloatParam;
    pub(super) type swing = FloatParam;
    pub(super) type decibels = FloatParam;
    pub(super) type slot = IntParam;
    pub(super) type choice = IntParam;
    pub(super) type take = IntParam;
    pub(super) type revision = IntParam;
    pub(super) type switch = BoolParam;
    pub(super) type bypass = BoolParam;
}

macro_rules! params {
    ($($field:ident $variant:ident $id:tt $kind:ident ($($path:tt)+) $name:literal $scope:ident $hint:literal;)+) => {
        /// The parameters. The host (any thread) and the editor (main thread) write them; the audio thread reads
        /// them after a change. The framework splits blocks where automation changes one.
        #[derive(Params)]
        pub struct FourlimbParams {
            $(
                #[doc = $hint]
                #[id = $id]
                pub $field: kinds::$kind,
            )+
            /// The rest of what a project saves. The editor, jobs and the loading of a project write it.
            #[persist = "project"]
            pub project: Arc<Project>,
            /// Whether a parameter has changed since the audio thread last checked.
            changed: Arc<AtomicBool>,
        }

        impl Default for FourlimbParams {
            fn default() -> Self {
                let changed = Arc::new(AtomicBool::new(true));
                let defaults = Settings::default();
                Self {
                    $($field: Made::made(
                        SettingId::$variant.row(),
                        defaults.get(SettingId::$variant),
                        &changed,
                    ),)+
                    project: Arc::default(),
                    changed,
                }
            }
        }

        impl FourlimbParams {
            /// The parameter of a setting.
            pub fn param(&self, setting: SettingId) -> AnyParam<'_> {
                match setting {
                    $(SettingId::$variant => self.$field.any(),)+
                }
            }

            /// The current values of the parameters. Any thread; atomics only.
            pub fn settings(&self) -> Settings {
                let mut settings = Settings::default();
                $(settings.set(SettingId::$variant, self.$field.number());)+
                settings
            }
        }
    };
}

settings_table!(params);

/// A parameter by its type.
pub enum AnyParam<'a> {
    /// A level.
    Float(&'a FloatParam),
    /// A choice or a number.
    Int(&'a IntParam),
    /// A switch.
    Bool(&'a BoolParam),
}

/// The construction and reading of each type of parameter.
trait Made: Param {
    /// A parameter for a row of the table. It sets `changed` whenever its value changes.
    fn made(row: &Setting, default: f32, changed: &Arc<AtomicBool>) -> Self;

    /// Its value, in the scale of [`Settings::get`].
    fn number(&self) -> f32;

    fn any(&self) -> AnyParam<'_>;
}

impl Made for FloatParam {
    fn made(row: &Setting, default: f32, changed: &Arc<AtomicBool>) -> Self {
        let (kind, changed) = (row.kind, changed.clone());
        let (min, max) = kind.range();
        Self::new(row.name, default, FloatRange::Linear { min, max })
            .with_unit(kind.unit())
            .with_value_to_string(Arc::new(move |value| kind.number(value)))
            .with_string_to_value(Arc::new(move |text| kind.parse(text)))
            .with_callback(Arc::new(move |_| changed.store(true, Ordering::Release)))
    }

    fn number(&self) -> f32 {
        self.value()
    }

    fn any(&self) -> AnyParam<'_> {
        AnyParam::Float(self)
    }
}

impl Made for IntParam {
    fn made(row: &Setting, default: f32, changed: &Arc<AtomicBool>) -> Self {
        let (kind, changed) = (row.kind, changed.clone());
        let (min, max) = kind.range();
        let (min, max) = (i32::from(whole(min)), i32::from(whole(max)));
        let range = IntRange::Linear { min, max };
        let param = Self::new(row.name, i32::from(whole(default)), range)
            .with_value_to_string(Arc::new(move |value| kind.number(value as f32)))
            .with_string_to_value(Arc::new(move |text| {
                kind.parse(text).map(|value| i32::from(whole(value)))
            }))
            .with_callback(Arc::new(move |_| changed.store(true, Ordering::Release)));
        match row.scope {
            crate::settings::Scope::Hidden => param.hide().non_automatable(),
            _ => param,
        }
    }

    fn number(&self) -> f32 {
        self.value() as f32
    }

    fn any(&self) -> AnyParam<'_> {
        AnyParam::Int(self)
    }
}

impl Made for BoolParam {
    fn made(row: &Setting, default: f32, changed: &Arc<AtomicBool>) -> Self {
        let (kind, changed) = (row.kind, changed.clone());
        let param = Self::new(row.name, default >= 0.5)
            .with_value_to_string(Arc::new(move |on| kind.number(f32::from(u8::from(on)))))
            .with_string_to_value(Arc::new(move |text| {
                kind.parse(text).map(|value| value >= 0.5)
            }))
            .with_callback(Arc::new(move |_| changed.store(true, Ordering::Release)));
        // The framework must know which parameter is the bypass.
        if row.id == SettingId::Bypass.row().id {
            param.make_bypass()
        } else {
            param
        }
    }

    fn number(&self) -> f32 {
        f32::from(u8::from(self.value()))
    }

    fn any(&self) -> AnyParam<'_> {
        AnyParam::Bool(self)
    }
}

impl FourlimbParams {
    /// The values of the parameters where one has changed since the last call. Audio thread: a single atomic
    /// operation where none has.
    pub fn changed(&self) -> Option<Settings> {
        let changed = self.changed.swap(false, Ordering::Acquire);
        changed.then(|| self.settings())
    }
}

impl PersistentField<'_, SavedDocument> for Arc<Project> {
    fn set(&self, saved: SavedDocument) {
        self.load(saved);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&SavedDocument) -> R,
    {
        f(&self.document().saved())
    }
}
