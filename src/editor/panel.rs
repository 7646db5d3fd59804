//! The views in their places, from top to bottom: head, strip, what the controls turn, controls, drawers, lanes.

use super::automated::Automated;
use super::beats::Beats;
use super::compare::Compare;
use super::controls::Values;
use super::drawers::{self, Drawer, filing::FileRow, guitar, played};
use super::dropped::{Dropped, Place};
use super::header::{self, Page};
use super::lanes::Lanes;
use super::sampler::SamplerPage;
use super::snapshot::Snapshot;
use super::strip::{NEW_BARS, Strip};
use super::taken_out;
use super::{first_steps, help, main_controls, section, target, text, theme, widgets};
use crate::editor::action::{Action, Part};
use crate::export::What;
use crate::project::Song;
use crate::project::view::ViewSettings;
use crate::settings::SettingId;
use crate::song::SongFile;
use egui::{
    Button, CentralPanel, Frame, Key, Margin, Panel as Side, RichText, Role, ScrollArea, Ui,
    WidgetInfo,
};

/// Everything that the window shows, and what its views remember between frames.
#[derive(Debug, Default)]
pub struct Panel {
    beats: Beats,
    lanes: Lanes,
    /// Two states side by side.
    pub compare: Compare,
    automated: Automated,
    /// The song strip.
    pub strip: Strip,
    /// The page that is open.
    pub page: Page,
    /// The drawer that is open.
    pub drawer: Option<Drawer>,
    /// What the sampler is sent.
    pub sampler: SamplerPage,
    /// How the editor is looked at; what is wanted of it is changed here.
    pub look: ViewSettings,
    /// The file that a riff is read from.
    pub form: guitar::Form,
    /// The file that what was played is written to.
    pub played: played::Form,
    /// The files of songs.
    pub files: FileRow,
    /// What is said of the last file that left the window.
    pub said: taken_out::Said,
    dropped: Dropped,
    /// Where the drawer of the guitar is, while it is open.
    guitar_drawer: Option<egui::Rect>,
    /// Why the last change of the song could not be made.
    pub trouble: Option<String>,
    /// The bars, from 1, that the stand-alone's transport loops over, as far as there is one: `None` outside of it.
    pub looped: Option<Option<(u32, u32)>>,
    /// No dialog of the system can open: paths are typed.
    pub types_paths: bool,
}

fn frame(fill: egui::Color32, above: i8, below: i8) -> Frame {
    let margin = Margin {
        left: theme::MARGIN,
        right: theme::MARGIN,
        top: above,
        bottom: below,
    };
    Frame::NONE.fill(fill).inner_margin(margin)
}

impl Panel {
    /// Shows one frame and adds what the user asks for to `actions`. Main thread.
    pub fn show(&mut self, ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        widgets::set_types_paths(ui, self.types_paths);
        if ui.input(|input| input.key_pressed(Key::F1)) {
            self.page = match self.page {
                Page::Help => Page::Song,
                _ => Page::Help,
            };
        }
        if self.page == Page::Song {
            self.lanes.escape(ui);
        }
        if let Some(first) = self.strip.first_bar(snapshot) {
            self.lanes.look_from(first);
        }
        let mut snapshot = snapshot.clone();
        snapshot.look_at(self.lanes.looks_at());
        self.automated.follow(ui, &mut snapshot.values);
        let snapshot = &snapshot;
        let palette = theme::of(ui);
        Side::top("head")
            .frame(frame(palette.raised, theme::MARGIN / 2, theme::MARGIN / 2))
            .show_separator_line(false)
            .show(ui, |ui| {
                let played = (self.lanes.thinned(), self.lanes.beyond());
                header::show(
                    ui,
                    snapshot,
                    played,
                    (&mut self.look, &mut self.page),
                    actions,
                );
            });
        first_steps::follow(&mut self.look, snapshot, self.page);
        self.drops(ui, snapshot, actions);
        match self.page {
            Page::Sampler => {
                let page = CentralPanel::no_frame();
                page.frame(frame(palette.ground, theme::MARGIN, theme::MARGIN))
                    .show(ui, |ui| {
                        let middle_c = &mut self.look.middle_c;
                        self.sampler.show(ui, snapshot, middle_c, actions);
                    });
                return;
            }
            Page::Help => {
                let page = CentralPanel::no_frame();
                page.frame(frame(palette.ground, theme::MARGIN, theme::MARGIN))
                    .show(ui, help::show);
            }
            Page::Song => self.song(ui, snapshot, actions),
        }
        self.sampler.rest(actions);
    }

    /// The song, the controls and the lanes.
    fn song(&mut self, ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        let palette = theme::of(ui);
        Side::top("strip")
            .frame(frame(palette.ground, theme::MARGIN / 2, 2))
            .show_separator_line(false)
            .show(ui, |ui| {
                let window = self.lanes.shown();
                self.strip.show(ui, snapshot, &window, actions);
            });
        let song = snapshot.song.as_deref();
        let chosen = self.strip.chosen.clone();
        let turns = !chosen.is_empty();
        let ground = if turns {
            palette.turned
        } else {
            palette.ground
        };
        Side::top("target")
            .frame(frame(ground, 2, 2))
            .show_separator_line(false)
            .show(ui, |ui| self.target(ui, snapshot, actions));
        let values = target::values(&snapshot.values, song, &chosen);
        self.beats.listen(snapshot, self.lanes.looks_at());
        let mut asked = Vec::new();
        Side::top("controls")
            .frame(frame(ground, 2, theme::MARGIN / 2))
            .show_separator_line(false)
            .show(ui, |ui| {
                let context = (snapshot, &self.lanes);
                main_controls::show(ui, &mut self.beats, &values, context, &mut asked);
            });
        Side::top("drawers")
            .frame(frame(palette.ground, theme::MARGIN / 2, theme::MARGIN / 2))
            .show_separator_line(false)
            .show(ui, |ui| {
                drawers::fronts(ui, &mut self.drawer, snapshot, &values);
            });
        if let Some(drawer) = self.drawer {
            let shown = Side::right("drawer")
                .frame(frame(palette.raised, theme::MARGIN / 2, theme::MARGIN / 2))
                .resizable(false)
                .show_separator_line(false)
                .exact_size(theme::DRAWER_WIDTH)
                .show(ui, |ui| {
                    // What is below is announced.
                    ui.spacing_mut().scroll = egui::style::ScrollStyle::solid();
                    let scroll = ScrollArea::vertical()
                        .auto_shrink(false)
                        .id_salt(drawer.name());
                    scroll.show(ui, |ui| {
                        self.drawer(ui, drawer, snapshot, &values, &mut asked);
                    });
                });
            self.guitar_drawer = Some(shown.response.rect);
        }
        if let Some(said) = self.beats.said() {
            self.said.tell(said);
        }
        target::heed(ui, song, &chosen, asked, actions);
        CentralPanel::no_frame()
            .frame(frame(palette.ground, 0, theme::MARGIN))
            .show(ui, |ui| {
                self.lanes.show(ui, snapshot, &mut self.compare, actions);
            });
        self.compared(snapshot, actions);
    }

    /// Forgets what was told of changes that undo or redo went past.
    pub fn forget_changes(&mut self) {
        self.files.form.forget_changes();
        self.sampler.files.forget_changes();
        self.form.forget_changes();
    }

    /// Has files that were dropped become what their place suggests.
    fn drops(&mut self, ui: &Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        let (page, lanes, strip) = (self.page, &self.lanes, &self.strip);
        let drawer = self
            .guitar_drawer
            .filter(|_| self.drawer == Some(Drawer::Guitar));
        let place = |at: Option<egui::Pos2>| {
            if page == Page::Sampler {
                return Place::Sampler;
            }
            let first = i64::try_from(lanes.shown().start).unwrap_or(0);
            let is_in =
                |area: Option<egui::Rect>| area.zip(at).is_some_and(|(area, at)| area.contains(at));
            let (all, guitar) = lanes.areas().unzip();
            if is_in(guitar) || is_in(drawer) {
                return Place::Guitar(first + 1);
            }
            let section = snapshot.song.as_deref().and_then(|song| {
                let shown = is_in(all).then(|| Place::of_bar(song, lanes.shown().start));
                let on_strip = strip.section_at(ui, song.whole.sections.len(), at?);
                on_strip.map_or(shown.flatten(), |place| Place::of_section(song, place))
            });
            section.unwrap_or(Place::Elsewhere(first + 1))
        };
        if let Some(why) = self
            .dropped
            .follow(ui, place, super::own_beats::free(snapshot), actions)
        {
            self.said.tell(Err(why));
        }
        self.said.show(ui.ctx());
    }

    /// Remembers a state, or exchanges two.
    fn compared(&mut self, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        if actions.contains(&Action::Remember) {
            self.compare.remember(snapshot);
        }
        if actions.contains(&Action::Swap) {
            actions.extend(self.compare.swap(snapshot));
        }
        actions.retain(|action| !matches!(action, Action::Remember | Action::Swap));
    }

    /// What the controls turn: the panel, or the chosen sections, with what can be done with them.
    fn target(&mut self, ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        let song = snapshot.song.as_deref();
        for at in self.strip.pointed() {
            pointer(ui, *at);
        }
        ui.horizontal_wrapped(|ui| {
            widgets::switch(ui, SettingId::FollowChart, &snapshot.values, actions);
            ui.add_space(theme::GAP);
            let Some(song) = song else {
                self.without_song(ui, snapshot, actions);
                return;
            };
            if self.strip.chosen.is_empty() {
                if snapshot.values.follows {
                    ui.label(RichText::new(text::TURNS_PANEL).color(theme::of(ui).text_quiet));
                } else {
                    ui.label(RichText::new(text::CHART_IS_OFF).color(theme::of(ui).fill_text));
                }
                return;
            }
            let names: Vec<&str> = (self.strip.chosen.iter())
                .filter_map(|place| song.whole.sections.get(*place))
                .map(|section| section.name.as_str())
                .collect();
            ui.label(RichText::new(text::turns(&names)).strong());
            ui.add_space(theme::GAP);
            self.strip.acts(ui, song, actions);
            self.rolls(ui, song, actions);
            if let Some((_, (first, last))) = super::strip::stretch(song, &self.strip.chosen) {
                let part = Part::Song(What::Bars(first, last));
                taken_out::grip(ui, text::taken_out::GRIPS[1], part, actions);
            }
            let (name, hint) = text::TO_PANEL;
            if ui.button(name).on_hover_text(hint).clicked() {
                self.strip.chosen.clear();
            }
        });
        if let Some(song) = song.filter(|_| !self.strip.chosen.is_empty()) {
            let take = snapshot.values.settings.bar_settings.take;
            let typed = self.files.typed();
            section::show(ui, song, &self.strip.chosen, take, typed, actions);
        }
        self.troubles(ui, song);
    }

    /// In the stand-alone program: plays the chosen sections from their start, or loops over them.
    fn rolls(&self, ui: &mut Ui, song: &Song, actions: &mut Vec<Action>) {
        let (Some(looped), Some((start, bars))) =
            (self.looped, super::strip::stretch(song, &self.strip.chosen))
        else {
            return;
        };
        let (name, hint) = text::PLAY_FROM;
        if ui.button(name).on_hover_text(hint).clicked() {
            actions.push(Action::PlayFrom(start));
        }
        let loops = looped == Some(bars);
        let (name, hint) = text::LOOP_SECTION;
        let button = ui
            .add(Button::new(name).selected(loops))
            .on_hover_text(hint);
        if button.clicked() {
            actions.push(Action::Loop((!loops).then_some(bars)));
        }
        button.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, loops, name));
    }

    /// Why a change could not be made, and what is odd about the song.
    fn troubles(&self, ui: &mut Ui, song: Option<&Song>) {
        let warnings = song.into_iter().flat_map(|song| song.timeline.warnings());
        let warnings = warnings.map(ToString::to_string);
        for said in self.trouble.iter().cloned().chain(warnings) {
            ui.label(RichText::new(said).color(theme::of(ui).fill_text));
        }
    }

    /// How a song is begun, or what to do first.
    fn without_song(&mut self, ui: &mut Ui, snapshot: &Snapshot, actions: &mut Vec<Action>) {
        let (name, hint) = (text::chart::NEW, text::chart::NEW_HINT);
        if ui.button(name).on_hover_text(hint).clicked() {
            self.strip.make(None, 0, NEW_BARS as usize, actions);
        }
        let (name, hint) = (text::chart::DEMO, text::chart::DEMO_HINT);
        let demo = ui.button(name).on_hover_text(hint);
        if demo.clicked()
            && let Ok(song) = SongFile::parse(SongFile::DEMO)
        {
            actions.push(Action::OpenSong(Box::new(song)));
        }
        if let Some(problem) = &snapshot.unread {
            let said = RichText::new(text::chart::unread(problem));
            ui.label(said.color(theme::of(ui).fill_text));
        }
        ui.add_space(theme::GAP_WIDE);
        first_steps::show(ui, &mut self.look, &mut self.page, snapshot);
    }

    fn drawer(
        &mut self,
        ui: &mut Ui,
        drawer: Drawer,
        snapshot: &Snapshot,
        values: &Values,
        actions: &mut Vec<Action>,
    ) {
        match drawer {
            Drawer::Guitar => {
                let suggests = self.lanes.suggests();
                guitar::show(ui, snapshot, values, (&mut self.form, suggests), actions);
            }
            Drawer::Phrasing => drawers::phrasing(ui, values, actions),
            Drawer::Limbs => drawers::limbs(ui, values, actions),
            Drawer::Sound => {
                let mut page = false;
                drawers::sound(ui, snapshot, &mut page, actions);
                if page {
                    self.page = Page::Sampler;
                }
            }
            Drawer::Files => {
                let song = snapshot.song.as_deref();
                let place = self.strip.chosen.first().copied();
                let file = song.map(|song| &song.file);
                self.files.show(ui, file, place, actions);
                ui.separator();
                if let Some(song) = song {
                    let (label, part) = (text::taken_out::GRIPS[2], Part::Song(What::Whole));
                    taken_out::grip(ui, label, part, actions);
                    ui.separator();
                    drawers::song(ui, song, actions);
                    ui.separator();
                }
                self.played.show(ui, actions);
            }
        }
    }

    /// Whether hits of the band are proposed in the lanes.
    pub fn suggests_hits(&mut self) -> &mut bool {
        self.lanes.suggests()
    }

    /// Opens the list of beats.
    pub fn open_beats(&mut self) {
        self.beats.open();
    }

    /// Has the lanes show so many bars, or the phrase.
    pub fn show_bars(&mut self, count: Option<usize>) {
        self.lanes.show_bars(count);
    }

    /// The view of the bars.
    pub fn lanes(&self) -> &Lanes {
        &self.lanes
    }
}

/// A wedge above the row, below the section that the controls turn.
fn pointer(ui: &Ui, at: f32) {
    let top = ui.max_rect().top() - 2.0;
    let size = theme::STRIP_FOOT * 0.6;
    let points = vec![
        egui::pos2(at, top - size),
        egui::pos2(at + size, top),
        egui::pos2(at - size, top),
    ];
    let fill = theme::of(ui).turned;
    let above = ui.ctx().layer_painter(ui.layer_id());
    above.add(egui::Shape::convex_polygon(
        points,
        fill,
        egui::Stroke::NONE,
    ));
}
