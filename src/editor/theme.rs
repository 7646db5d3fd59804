//! Colours, spacing and type sizes, by name. Nothing else in the editor holds a number for them.
//!
//! The piece colours are the qualitative palette of Okabe and Ito ("Color Universal Design", 2008),
//! made to be told apart with any colour vision; every piece has a shape of its own besides.

use egui::{Color32, CornerRadius, FontFamily, FontId, Margin, Stroke, TextStyle, Vec2, vec2};

/// Behind everything.
pub const GROUND: Color32 = Color32::from_rgb(0x1b, 0x1d, 0x21);
/// Behind the head and other raised areas.
pub const RAISED: Color32 = Color32::from_rgb(0x24, 0x27, 0x2c);
/// The empty part of a level, fields that are typed into, the lanes.
pub const SUNK: Color32 = Color32::from_rgb(0x13, 0x14, 0x17);
/// Buttons at rest.
pub const BUTTON: Color32 = Color32::from_rgb(0x33, 0x37, 0x3e);
/// Buttons under the pointer.
pub const BUTTON_HOVER: Color32 = Color32::from_rgb(0x42, 0x47, 0x50);
/// What is chosen, and the filled part of a level.
pub const CHOSEN: Color32 = Color32::from_rgb(0x2f, 0x62, 0x86);
/// Text that is read first.
pub const TEXT: Color32 = Color32::from_rgb(0xe8, 0xe9, 0xeb);
/// Text that explains.
pub const TEXT_QUIET: Color32 = Color32::from_rgb(0xa9, 0xae, 0xb6);
/// Lines on the counts of the bar.
pub const COUNT_LINE: Color32 = Color32::from_rgb(0x5a, 0x60, 0x6a);
/// Lines on the units between the counts.
pub const UNIT_LINE: Color32 = Color32::from_rgb(0x2c, 0x2f, 0x35);
/// The line that a lane's strokes stand on.
pub const LANE_LINE: Color32 = Color32::from_rgb(0x45, 0x4a, 0x53);
/// Where the drummer is.
pub const PLAYHEAD: Color32 = Color32::from_rgb(0xff, 0xff, 0xff);
/// Behind a fill. Translucent, so that the lines below stay visible.
pub const FILL: Color32 = Color32::from_rgba_premultiplied(0x24, 0x20, 0x0c, 0x30);
/// The name of a fill.
pub const FILL_TEXT: Color32 = Color32::from_rgb(0xf0, 0xe4, 0x42);
/// A switched-on bypass.
pub const BYPASSED: Color32 = Color32::from_rgb(0x96, 0x4b, 0x00);

/// Kick drum.
pub const KICK: Color32 = Color32::from_rgb(0xe8, 0x74, 0x2c);
/// Snare and side stick.
pub const SNARE: Color32 = Color32::from_rgb(0x56, 0xb4, 0xe9);
/// Hi-hat, by hand or foot.
pub const HI_HAT: Color32 = Color32::from_rgb(0xf0, 0xe4, 0x42);
/// Ride, bow and bell.
pub const RIDE: Color32 = Color32::from_rgb(0x1f, 0xbc, 0x8c);
/// Crash, china and splash.
pub const CRASH: Color32 = Color32::from_rgb(0xf5, 0xf5, 0xf5);
/// Toms.
pub const TOM: Color32 = Color32::from_rgb(0xda, 0x8f, 0xbd);

/// How visible a ghost note is, 0..=1.
pub const GHOST_OPACITY: f32 = 0.45;

/// The size the editor opens with, in points.
pub const WINDOW: Vec2 = vec2(960.0, 920.0);
/// The least size at which nothing is cut off, in points.
pub const WINDOW_LEAST: Vec2 = vec2(870.0, 862.0);

/// Around panels.
pub const MARGIN: i8 = 12;
/// Between things that belong together.
pub const GAP: f32 = 6.0;
/// Between groups.
pub const GAP_WIDE: f32 = 14.0;
/// Width of the list of styles.
pub const LIST_WIDTH: f32 = 220.0;
/// Width of the list of sections.
pub const SECTIONS_WIDTH: f32 = 330.0;
/// Width of a choice or a name of a section.
pub const PICK_WIDTH: f32 = 150.0;
/// Width of the field for a song's file.
pub const PATH_WIDTH: f32 = 420.0;
/// Height of the front panel.
pub const FRONT_HEIGHT: f32 = 364.0;
/// Height of the bar below the chart.
pub const BAR_HEIGHT: f32 = 292.0;
/// Height of the riff's strip.
pub const RIFF_HEIGHT: f32 = 132.0;
/// Height of the row that keeps what was played.
pub const PLAYED_HEIGHT: f32 = 40.0;
/// Width of a field for a path.
pub const PATH_NARROW: f32 = 260.0;
/// Height of a level's bar, and of everything else that is pressed.
pub const PRESS_HEIGHT: f32 = 22.0;
/// Width of a level without its name above it.
pub const NARROW_LEVEL: f32 = 90.0;
/// Width of the button that starts and stops.
pub const ROLL_WIDTH: f32 = 64.0;
/// Width of the list of note values.
pub const UNIT_WIDTH: f32 = 52.0;
/// Width of the lists of devices.
pub const DEVICE_WIDTH: f32 = 150.0;
/// Width of the names of the lanes.
pub const LANE_NAME_WIDTH: f32 = 84.0;
/// Height of the row of counts above the lanes.
pub const COUNT_HEIGHT: f32 = 20.0;
/// Room below a lane's line for the names of the pieces.
pub const LANE_FOOT: f32 = 15.0;
/// From a lane's left edge to the first stroke, so that its mark is not cut.
pub const LANE_INSET: f32 = 14.0;
/// Half the size of a stroke's mark.
pub const MARK: f32 = 5.0;
/// Corners of everything that has any.
pub const CORNER: u8 = 3;

/// Type size of the product's name.
pub const TYPE_TITLE: f32 = 21.0;
/// Type size of what is read and pressed.
pub const TYPE_BODY: f32 = 14.0;
/// Type size of explanations.
pub const TYPE_SMALL: f32 = 12.0;
/// Type size of the names of pieces below their strokes.
pub const TYPE_TINY: f32 = 10.5;

/// The type of the names of pieces below their strokes.
pub fn tiny() -> FontId {
    FontId::proportional(TYPE_TINY)
}

/// Sets colours, spacing and type sizes. Main thread; cheap, as it runs while a window opens.
pub fn apply(ctx: &egui::Context) {
    ctx.set_theme(egui::Theme::Dark);
    ctx.all_styles_mut(|style| {
        let sizes = [
            (TextStyle::Heading, TYPE_TITLE),
            (TextStyle::Body, TYPE_BODY),
            (TextStyle::Button, TYPE_BODY),
            (TextStyle::Small, TYPE_SMALL),
        ];
        for (name, size) in sizes {
            style
                .text_styles
                .insert(name, FontId::new(size, FontFamily::Proportional));
        }
        style.spacing.item_spacing = vec2(GAP, GAP);
        style.spacing.button_padding = vec2(8.0, 3.0);
        style.spacing.interact_size.y = PRESS_HEIGHT;
        style.spacing.menu_margin = Margin::same(6);
        style.interaction.selectable_labels = false;

        let visuals = &mut style.visuals;
        *visuals = egui::Visuals::dark();
        visuals.panel_fill = GROUND;
        visuals.window_fill = RAISED;
        visuals.extreme_bg_color = SUNK;
        visuals.override_text_color = Some(TEXT);
        visuals.weak_text_color = Some(TEXT_QUIET);
        visuals.selection.bg_fill = CHOSEN;
        visuals.selection.stroke = Stroke::new(1.0, TEXT);
        let widgets = &mut visuals.widgets;
        let states = [
            (&mut widgets.inactive, BUTTON),
            (&mut widgets.hovered, BUTTON_HOVER),
            (&mut widgets.active, CHOSEN),
            (&mut widgets.open, BUTTON_HOVER),
        ];
        for (state, fill) in states {
            state.bg_fill = fill;
            state.weak_bg_fill = fill;
            state.bg_stroke = Stroke::NONE;
            state.fg_stroke = Stroke::new(1.0, TEXT);
            state.corner_radius = CornerRadius::same(CORNER);
            state.expansion = 0.0;
        }
        widgets.noninteractive.bg_stroke = Stroke::new(1.0, UNIT_LINE);
    });
}
