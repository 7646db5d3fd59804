//! How the editor is looked at: zoom, theme, size of the window. Saved with the project, of no interest to
//! the drummer.

use crossbeam_utils::atomic::AtomicCell;
use nice_plug::params::persist::PersistentField;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// The zooms that can be chosen, in percent.
pub const ZOOMS: [u16; 8] = [75, 90, 100, 110, 125, 150, 175, 200];

/// How the editor is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Look {
    /// In percent, 75..=200.
    pub zoom: u16,
    /// Whether the theme is the light one.
    pub light: bool,
    /// Width and height of the window, in points at 100 %; `None` for those it opens with.
    pub size: Option<(f32, f32)>,
}

impl Default for Look {
    fn default() -> Self {
        Self {
            zoom: 100,
            light: false,
            size: None,
        }
    }
}

impl Look {
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

/// The look as it is kept. Any thread.
#[derive(Debug)]
pub struct View(AtomicCell<Look>);

impl Default for View {
    fn default() -> Self {
        Self(AtomicCell::new(Look::default()))
    }
}

impl View {
    /// The look now.
    pub fn look(&self) -> Look {
        self.0.load()
    }

    /// Looks otherwise.
    pub fn set_look(&self, look: Look) {
        self.0.store(look.sane());
    }
}

impl PersistentField<'_, Look> for Arc<View> {
    fn set(&self, look: Look) {
        self.set_look(look);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&Look) -> R,
    {
        f(&self.look())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_saved_is_looked_at_and_nonsense_is_mended() {
        let view = Arc::new(View::default());
        let read = |json: &str| {
            view.set(serde_json::from_str(json).unwrap());
            view.look()
        };
        let look = read(r#"{"zoom": 150, "light": true, "size": [1200.0, 900.0], "new": 1}"#);
        assert_eq!(
            (look.zoom, look.light, look.size),
            (150, true, Some((1200.0, 900.0)))
        );
        assert_eq!(
            look,
            serde_json::from_str(&view.map(|look| serde_json::to_string(look).unwrap())).unwrap()
        );
        for wild in [r#"{"zoom": 9}"#, r#"{"zoom": 75, "size": [1e30, -4.0]}"#] {
            let look = read(wild);
            assert_eq!((look.zoom, look.size), (75, None), "{wild}");
        }
        assert_eq!(read("{}"), Look::default());
    }
}
