//! How the editor is looked at: zoom, theme, size of the window, names of keys. Saved with the project, of no interest to
//! the drummer.

use crate::kit::MiddleC;
use serde::{Deserialize, Serialize};

/// The zooms that can be chosen, in percent.
pub const ZOOMS: [u16; 8] = [75, 90, 100, 110, 125, 150, 175, 200];

/// How the editor is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ViewSettings {
    /// In percent, 75..=200.
    pub zoom: u16,
    /// Whether the theme is the light one.
    pub light: bool,
    /// Width and height of the window, in points at 100 %; `None` for those it opens with.
    pub size: Option<(f32, f32)>,
    /// The octave of middle C in the names of keys.
    pub middle_c: MiddleC,
    /// Which of the first steps were done: hear it, choose a beat, send it to a sampler.
    pub steps: [bool; 3],
}

impl Default for ViewSettings {
    fn default() -> Self {
        Self {
            zoom: 100,
            light: false,
            size: None,
            middle_c: MiddleC::C3,
            steps: [false; 3],
        }
    }
}

impl ViewSettings {
    /// The same within what can be shown.
    #[must_use]
    pub fn sane(self) -> Self {
        let (least, most) = (ZOOMS[0], ZOOMS[ZOOMS.len() - 1]);
        let is_size = |(width, height): &(f32, f32)| {
            let sane = 100.0..=10_000.0;
            sane.contains(width) && sane.contains(height)
        };
        Self {
            zoom: self.zoom.clamp(least, most),
            size: self.size.filter(is_size),
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_saved_is_looked_at_and_nonsense_is_mended() {
        let read = |json: &str| serde_json::from_str::<ViewSettings>(json).unwrap().sane();
        let view = read(r#"{"zoom": 150, "light": true, "size": [1200.0, 900.0], "new": 1}"#);
        assert_eq!(
            (view.zoom, view.light, view.size),
            (150, true, Some((1200.0, 900.0)))
        );
        assert_eq!(view, read(&serde_json::to_string(&view).unwrap()));
        for wild in [r#"{"zoom": 9}"#, r#"{"zoom": 75, "size": [1e30, -4.0]}"#] {
            let view = read(wild);
            assert_eq!((view.zoom, view.size), (75, None), "{wild}");
        }
        assert_eq!(read("{}"), ViewSettings::default());
        assert_eq!(read(r#"{"middle_c": 4}"#).middle_c, MiddleC::C4);
    }
}
