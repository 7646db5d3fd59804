//! Colours, spacing and type sizes, by name. Nothing else in the editor holds a number for them.
//!
//! The piece colours are the qualitative palette of Okabe and Ito ("Color Universal Design", 2008),
//! made to be told apart with any colour vision; every piece has a shape of its own besides.

use egui::{Color32, CornerRadius, FontFamily, FontId, Margin, Stroke, TextStyle, Ui, Vec2, vec2};

/// The colours of a theme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Palette {
    /// Behind everything.
    pub ground: Color32,
    /// Behind the head and other raised areas.
    pub raised: Color32,
    /// The empty part of a level, fields that are typed into, the lanes.
    pub sunk: Color32,
    /// Buttons at rest.
    pub button: Color32,
    /// Buttons under the pointer.
    pub button_hover: Color32,
    /// What is chosen, and the filled part of a level: the accent.
    pub chosen: Color32,
    /// The accent where it is read or marks something.
    pub accent_text: Color32,
    /// Behind controls that turn sections.
    pub turned: Color32,
    /// What the blocks of sections go towards with their intensity.
    pub intense: Color32,
    /// Text that is read first.
    pub text: Color32,
    /// Text that explains.
    pub text_quiet: Color32,
    /// Lines on the counts of the bar.
    pub count_line: Color32,
    /// Lines on the units between the counts.
    pub unit_line: Color32,
    /// The line that a lane's strokes stand on.
    pub lane_line: Color32,
    /// Where the drummer is.
    pub playhead: Color32,
    /// Behind a fill. Translucent, so that the lines below stay visible.
    pub fill: Color32,
    /// The name of a fill.
    pub fill_text: Color32,
    /// A switched-on bypass.
    pub bypassed: Color32,
    /// Kick drum.
    pub kick: Color32,
    /// Snare and side stick.
    pub snare: Color32,
    /// Hi-hat, by hand or foot.
    pub hi_hat: Color32,
    /// Ride, bow and bell.
    pub ride: Color32,
    /// Crash, china and splash.
    pub crash: Color32,
    /// Toms.
    pub tom: Color32,
    /// How visible a ghost note is, 0..=1.
    pub ghost_opacity: f32,
}

/// Light text on dark ground.
pub const DARK: Palette = Palette {
    ground: Color32::from_rgb(0x1b, 0x1d, 0x21),
    raised: Color32::from_rgb(0x24, 0x27, 0x2c),
    sunk: Color32::from_rgb(0x13, 0x14, 0x17),
    button: Color32::from_rgb(0x33, 0x37, 0x3e),
    button_hover: Color32::from_rgb(0x42, 0x47, 0x50),
    chosen: Color32::from_rgb(0x55, 0x4c, 0x9a),
    accent_text: Color32::from_rgb(0xb9, 0xb1, 0xff),
    turned: Color32::from_rgb(0x29, 0x27, 0x3d),
    intense: Color32::from_rgb(0x7a, 0x38, 0x28),
    text: Color32::from_rgb(0xe8, 0xe9, 0xeb),
    text_quiet: Color32::from_rgb(0xa9, 0xae, 0xb6),
    count_line: Color32::from_rgb(0x5a, 0x60, 0x6a),
    unit_line: Color32::from_rgb(0x2c, 0x2f, 0x35),
    lane_line: Color32::from_rgb(0x45, 0x4a, 0x53),
    playhead: Color32::from_rgb(0xff, 0xff, 0xff),
    fill: Color32::from_rgba_premultiplied(0x24, 0x20, 0x0c, 0x30),
    fill_text: Color32::from_rgb(0xf0, 0xe4, 0x42),
    bypassed: Color32::from_rgb(0x96, 0x4b, 0x00),
    kick: Color32::from_rgb(0x56, 0xb4, 0xe9),
    snare: Color32::from_rgb(0xe6, 0x9f, 0x00),
    hi_hat: Color32::from_rgb(0x1f, 0xbc, 0x8c),
    ride: Color32::from_rgb(0xf0, 0xe4, 0x42),
    crash: Color32::from_rgb(0xf5, 0xf5, 0xf5),
    tom: Color32::from_rgb(0xda, 0x8f, 0xbd),
    ghost_opacity: 0.45,
};

/// Dark text on light ground: the same hues, darkened to be read on it.
pub const LIGHT: Palette = Palette {
    ground: Color32::from_rgb(0xf4, 0xf4, 0xf2),
    raised: Color32::from_rgb(0xe6, 0xe7, 0xe8),
    sunk: Color32::from_rgb(0xff, 0xff, 0xff),
    button: Color32::from_rgb(0xd3, 0xd6, 0xda),
    button_hover: Color32::from_rgb(0xc4, 0xc9, 0xcf),
    chosen: Color32::from_rgb(0xc6, 0xc0, 0xf2),
    accent_text: Color32::from_rgb(0x53, 0x46, 0xb4),
    turned: Color32::from_rgb(0xe4, 0xe2, 0xf4),
    intense: Color32::from_rgb(0xf0, 0xb0, 0x96),
    text: Color32::from_rgb(0x16, 0x18, 0x1c),
    text_quiet: Color32::from_rgb(0x4f, 0x55, 0x5e),
    count_line: Color32::from_rgb(0x9a, 0xa0, 0xa8),
    unit_line: Color32::from_rgb(0xe0, 0xe2, 0xe5),
    lane_line: Color32::from_rgb(0xb4, 0xb9, 0xc0),
    playhead: Color32::from_rgb(0x00, 0x00, 0x00),
    fill: Color32::from_rgba_premultiplied(0x38, 0x2c, 0x00, 0x38),
    fill_text: Color32::from_rgb(0x7a, 0x52, 0x00),
    bypassed: Color32::from_rgb(0xf0, 0xa8, 0x5c),
    kick: Color32::from_rgb(0x00, 0x6a, 0xa8),
    snare: Color32::from_rgb(0xb0, 0x50, 0x00),
    hi_hat: Color32::from_rgb(0x00, 0x75, 0x56),
    ride: Color32::from_rgb(0x7d, 0x64, 0x00),
    crash: Color32::from_rgb(0x1b, 0x1d, 0x21),
    tom: Color32::from_rgb(0xa5, 0x35, 0x73),
    ghost_opacity: 0.5,
};

/// The colours in use.
pub fn of(ui: &egui::Ui) -> &'static Palette {
    palette(ui.visuals().dark_mode)
}

fn palette(dark: bool) -> &'static Palette {
    if dark { &DARK } else { &LIGHT }
}

/// The size the editor opens with, in points.
pub const WINDOW: Vec2 = vec2(1180.0, 880.0);
/// The least size at which nothing is cut off, in points.
pub const WINDOW_LEAST: Vec2 = vec2(900.0, 600.0);

/// Lower windows have controls of a line each, in points.
const TALL: f32 = 740.0;

/// Whether controls take a line each, since the window is low.
pub fn is_compact(ui: &egui::Ui) -> bool {
    ui.ctx().content_rect().height() < TALL
}

/// What the stand-alone's transport adds to its height.
pub const TRANSPORT_HEIGHT: f32 = 56.0;

/// Width of the field for the file of a note map.
pub const MAP_PATH_WIDTH: f32 = 250.0;
/// Width of the field for the name of a note map.
pub const MAP_NAME_WIDTH: f32 = 150.0;
/// Width of the field that searches the pieces.
pub const SEARCH_WIDTH: f32 = 110.0;
/// Widths of the columns of the list of pieces: group, piece, key, channel, velocity, state, learn, and the strengths
/// at which it is heard.
pub const PIECE_COLUMNS: [f32; 8] = [62.0, 116.0, 78.0, 54.0, 56.0, 236.0, 52.0, 156.0];
/// Size of a velocity curve in the list.
pub const CURVE: Vec2 = vec2(48.0, PRESS_HEIGHT * 0.8);
/// Size of a velocity curve where it is set.
pub const CURVE_LARGE: Vec2 = vec2(84.0, 48.0);
/// Between the rows of the list of pieces.
pub const ROW_GAP: f32 = 2.0;
/// Width of a field for a key or a number of a piece.
pub const KEY_WIDTH: f32 = 74.0;
/// Width of the words before the settings of a piece.
pub const SETTING_WIDTH: f32 = 84.0;
/// Height of the lines of what a file says.
pub const PROPOSAL_HEIGHT: f32 = 190.0;
/// Width of how sure one is, of a key and of a piece, in those lines.
pub const PROPOSAL_COLUMNS: [f32; 3] = [150.0, 110.0, 60.0];
/// Height of the keyboard.
pub const KEYS_HEIGHT: f32 = 34.0;
/// Room above the keyboard for what stands out.
pub const KEYS_HEAD: f32 = 14.0;

/// Around panels.
pub const MARGIN: i8 = 12;
/// Between things that belong together.
pub const GAP: f32 = 6.0;
/// Between groups.
pub const GAP_WIDE: f32 = 14.0;
/// Least width of a number where there is little room.
pub const NUMBER_LEAST: f32 = 28.0;
/// Where the line above the lanes has less room than this, its tools are short: without and with two states to compare.
pub const TOOLS_LEAST: (f32, f32) = (350.0, 540.0);
/// Where the line that says what is selected has less room than this, what is done to it opens as a menu.
pub const EDIT_LEAST: f32 = 620.0;
/// Width of what a double-click adds, with its name.
pub const ADDS_WIDTH: f32 = 190.0;
/// What the tools of that line need where they are short: without and with two states to compare.
pub const TOOLS_SHORT: (f32, f32) = (236.0, 440.0);
/// Where the line above the lanes is narrower than this, its words are short and the riding hand is not named: without
/// and with two states to compare.
pub const HEADING_LEAST: (f32, f32) = (780.0, 984.0);
/// Where it is narrower than this and the name of the beat, it leaves the numbers of the bars to the lanes: without and with two
/// states to compare.
pub const HEADING_TIGHT: (f32, f32) = (450.0, 650.0);
/// Greatest width of the name of a beat in that line: where it has room, and where it has least.
pub const PLAYS_WIDTH: (f32, f32) = (160.0, 60.0);
/// Width of a control's name, where it takes one line.
pub const LINE_NAME: f32 = 104.0;
/// Width of the list of beats.
pub const LIST_WIDTH: f32 = 260.0;
/// Height of the list of beats.
pub const LIST_HEIGHT: f32 = 360.0;
/// Height of the button of the beat.
pub const BEAT_HEIGHT: f32 = 40.0;
/// Height of a drawer's front.
pub const FRONT_HEIGHT: f32 = 36.0;
/// Width of an open drawer.
pub const DRAWER_WIDTH: f32 = 330.0;
/// Height of a section's block.
pub const BLOCK_HEIGHT: f32 = 54.0;
/// Height of the numbers of bars below the blocks.
pub const STRIP_FOOT: f32 = 17.0;
/// Height of what is written in a block.
pub const BLOCK_TEXT: f32 = 30.0;
/// Least width of the field in which a section's name is typed.
pub const RENAME_LEAST: f32 = 110.0;
/// Width of a choice or a name of a section.
pub const PICK_WIDTH: f32 = 116.0;
/// Width of the same where there is least room.
pub const PICK_SHORT: f32 = 64.0;
/// Width of the choice of whose meter it is.
pub const METER_WIDTH: f32 = 74.0;
/// Height of a level's bar, and of everything else that is pressed.
pub const PRESS_HEIGHT: f32 = 24.0;
/// Width of the list of zooms.
pub const ZOOM_WIDTH: f32 = 60.0;
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
/// Height of the riff's strip under the lanes.
pub const GUITAR_HEIGHT: f32 = 30.0;
/// Counts narrower than this have neither number nor units, in points.
pub const COUNT_LEAST: f32 = 44.0;
/// Room below a lane's line for the names of the pieces.
pub const LANE_FOOT: f32 = 15.0;
/// From a lane's left edge to the first stroke, so that its mark is not cut.
pub const LANE_INSET: f32 = 14.0;
/// Half the size of a stroke's mark.
pub const MARK: f32 = 5.5;
/// The same where many bars are on show.
pub const MARK_LEAST: f32 = 2.5;
/// Corners of everything that has any.
pub const CORNER: u8 = 3;

/// Type size of the product's name.
pub const TYPE_TITLE: f32 = 21.0;
/// Type size of the beat.
pub const TYPE_BEAT: f32 = 18.0;
/// Type size of what is read and pressed.
pub const TYPE_BODY: f32 = 14.0;
/// Type size of explanations.
pub const TYPE_SMALL: f32 = 12.0;
/// Type size of the names of pieces below their strokes.
pub const TYPE_TINY: f32 = 10.5;

/// The type of what is written in a block.
pub fn small() -> FontId {
    FontId::proportional(TYPE_SMALL)
}

/// The type of the names of pieces below their strokes.
pub fn tiny() -> FontId {
    FontId::proportional(TYPE_TINY)
}

/// How large the letters of `ui` are, over those for which the widths above that hold words were measured.
pub fn letters(ui: &Ui) -> f32 {
    TextStyle::Body.resolve(ui.style()).size / TYPE_BODY
}

/// Sets colours, spacing and type sizes. Main thread; cheap, as it runs while a window opens.
pub fn apply(ctx: &egui::Context) {
    ctx.set_theme(egui::Theme::Dark);
    for theme in [egui::Theme::Dark, egui::Theme::Light] {
        ctx.style_mut_of(theme, |style| set(style, theme));
    }
}

/// Chooses the light theme or the dark one.
pub fn choose(ctx: &egui::Context, light: bool) {
    let theme = if light {
        egui::Theme::Light
    } else {
        egui::Theme::Dark
    };
    if ctx.theme() != theme {
        ctx.set_theme(theme);
    }
}

fn set(style: &mut egui::Style, theme: egui::Theme) {
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

    let palette = palette(theme == egui::Theme::Dark);
    let visuals = &mut style.visuals;
    *visuals = theme.default_visuals();
    visuals.panel_fill = palette.ground;
    visuals.window_fill = palette.raised;
    visuals.extreme_bg_color = palette.sunk;
    visuals.override_text_color = Some(palette.text);
    visuals.weak_text_color = Some(palette.text_quiet);
    visuals.selection.bg_fill = palette.chosen;
    visuals.selection.stroke = Stroke::new(1.0, palette.text);
    let widgets = &mut visuals.widgets;
    let states = [
        (&mut widgets.inactive, palette.button),
        (&mut widgets.hovered, palette.button_hover),
        (&mut widgets.active, palette.chosen),
        (&mut widgets.open, palette.button_hover),
    ];
    for (state, fill) in states {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::NONE;
        state.fg_stroke = Stroke::new(1.0, palette.text);
        state.corner_radius = CornerRadius::same(CORNER);
        state.expansion = 0.0;
    }
    widgets.noninteractive.bg_stroke = Stroke::new(1.0, palette.unit_line);
}
