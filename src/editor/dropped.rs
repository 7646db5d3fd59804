//! What becomes of a file that is dropped on the window: its kind and the place say it, and where two things are possible,
//! the user is asked.

use super::action::Action;
use super::text::{chart, taken_out as words};
use crate::project::Song;
use egui::{Area, Context, Frame, Id, Modal, Order, Pos2, Ui, vec2};
use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// So much of a file is looked at, in bytes: what it is stands at the start.
const HEAD: u64 = 4096;
/// What is said of a file that is dragged over the window stands so far from the pointer, in points.
const BESIDE: f32 = 16.0;

/// What a file holds, as far as its name and its start tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A song of ours.
    Song,
    /// An own beat.
    Beat,
    /// A note map, of ours or of a recording program.
    Map,
    /// A MIDI file.
    Midi,
    /// A recording.
    Sound,
}

impl Kind {
    /// The kind of a file of this name that begins so; `None` where it is nothing that we read.
    pub fn of(file: &Path, head: &[u8]) -> Option<Self> {
        let ending = file.extension()?.to_str()?.to_lowercase();
        let is_map = || head.windows(14).any(|part| part == b"\"fourlimb_map\"");
        let is_beat = || head.windows(15).any(|part| part == b"\"fourlimb_beat\"");
        Some(match &*ending {
            "json" if is_map() => Self::Map,
            "json" if is_beat() => Self::Beat,
            "txt" => Self::Beat,
            "json" => Self::Song,
            "midnam" | "xml" => Self::Map,
            "mid" | "midi" => Self::Midi,
            "wav" | "flac" => Self::Sound,
            _ => return None,
        })
    }
}

/// Where a file was dropped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// On the page of the sampler.
    Sampler,
    /// On a section of the song, or on its bars.
    Section {
        /// Its place in the song, from 0.
        place: usize,
        /// Its name.
        name: String,
        /// Its first bar in the song, from 1.
        bar: i64,
    },
    /// Where the guitar is, at a bar from 1.
    Guitar(i64),
    /// Anywhere else, while this bar, from 1, is looked at.
    Elsewhere(i64),
}

impl Place {
    /// The section of a song at a place, from 0.
    pub fn of_section(song: &Song, place: usize) -> Option<Self> {
        let name = song.whole.sections.get(place)?.name.clone();
        let (bar, _) = song.timeline.bars_of_section(place)?;
        let bar = i64::from(bar);
        Some(Self::Section { place, name, bar })
    }

    /// The section of a song that a bar, from 0, lies in.
    pub fn of_bar(song: &Song, bar: usize) -> Option<Self> {
        let start = song.timeline.bars().get(bar)?.start;
        Self::of_section(song, song.timeline.section_at(start)?)
    }

    /// The bar, from 1, at which a guitar begins that is dropped here.
    fn bar(&self) -> i64 {
        match *self {
            Self::Sampler => 1,
            Self::Section { bar, .. } | Self::Guitar(bar) | Self::Elsewhere(bar) => bar,
        }
    }
}

/// Something that a file can become.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Offer {
    /// The song.
    Open,
    /// The note map.
    Map,
    /// Edits of the section at a place, from 0, with its name: what it does otherwise than the drummer.
    Compare(usize, String),
    /// All that the section at a place plays, from 0, with its name.
    Lock(usize, String),
    /// An own beat, of this number, from 1.
    Beat(u8),
    /// The guitar, from a bar on, from 1.
    Guitar(i64),
}

impl Offer {
    /// What a file of a kind can become where it was dropped, what suggests itself first.
    pub fn of(kind: Kind, place: &Place, free: u8) -> Vec<Self> {
        let guitar = Self::Guitar(place.bar());
        match (kind, place) {
            (Kind::Song, _) => vec![Self::Open],
            (Kind::Beat, _) => vec![Self::Beat(free)],
            (Kind::Map, _) | (Kind::Midi, Place::Sampler) => vec![Self::Map],
            (Kind::Midi, Place::Section { place, name, .. }) => {
                let (place, name) = (*place, name.clone());
                let compare = Self::Compare(place, name.clone());
                vec![compare, Self::Lock(place, name), Self::Beat(free), guitar]
            }
            (Kind::Sound, _) | (Kind::Midi, Place::Guitar(_)) => vec![guitar],
            (Kind::Midi, Place::Elsewhere(_)) => vec![guitar, Self::Beat(free), Self::Map],
        }
    }

    /// What it is called, and what is to be known of it.
    pub fn says(&self) -> (String, &'static str) {
        match self {
            Self::Open => (words::OPEN.to_owned(), words::OPEN_HINT),
            Self::Map => (words::MAP.to_owned(), words::MAP_HINT),
            Self::Compare(_, name) => (words::compare(name), words::COMPARE_HINT),
            Self::Lock(_, name) => (words::lock(name), words::LOCK_HINT),
            Self::Beat(number) => (words::beat(*number), words::BEAT_HINT),
            Self::Guitar(bar) => (words::guitar(*bar), words::GUITAR_HINT),
        }
    }

    /// Does it with a file.
    pub fn action(self, file: PathBuf) -> Action {
        match self {
            Self::Open => Action::LoadSong(file),
            Self::Map => Action::LoadMap(file),
            Self::Compare(place, _) => Action::Compare(file, place),
            Self::Lock(place, _) => Action::Lock(file, place),
            Self::Beat(number) => Action::LoadBeat(file, number),
            Self::Guitar(bar) => Action::LoadRiff(file, bar, None),
        }
    }
}

/// What is over the window, or was dropped on it.
#[derive(Debug, Default)]
pub struct Dropped {
    /// The file that was looked at last, and its kind.
    seen: Option<(PathBuf, Result<Kind, String>)>,
    /// The file of which the user is asked what should become of it.
    asked: Option<(PathBuf, Vec<Offer>)>,
}

impl Dropped {
    /// Shows what a file that is dragged over the window can become, and has what was dropped become it. `place` says where
    /// in the window a point is. Returns why a file can't become anything.
    pub fn follow(
        &mut self,
        ui: &Ui,
        place: impl FnOnce(Option<Pos2>) -> Place,
        free: u8,
        actions: &mut Vec<Action>,
    ) -> Option<String> {
        let (over, dropped, at) = ui.input(|input| {
            let over = input.raw.hovered_files.iter();
            let over: Vec<_> = over.filter_map(|file| file.path.clone()).collect();
            let dropped = input.raw.dropped_files.iter();
            let dropped: Vec<_> = dropped.map(|file| file.path().to_owned()).collect();
            (over, dropped, input.pointer.latest_pos())
        });
        self.ask(ui.ctx(), actions);
        let is_dropped = !dropped.is_empty();
        let files = if is_dropped { dropped } else { over };
        let file = match &files[..] {
            [] => return None,
            [file] => file,
            _ if is_dropped => return Some(words::ONE.to_owned()),
            _ => {
                beside(ui.ctx(), at, words::ONE);
                return None;
            }
        };
        let offers = match self.kind(file) {
            Ok(kind) => Offer::of(kind, &place(at), free),
            Err(why) if is_dropped => return Some(why),
            Err(why) => {
                beside(ui.ctx(), at, &why);
                return None;
            }
        };
        if !is_dropped {
            let says: Vec<_> = offers.iter().map(|offer| offer.says().0).collect();
            beside(ui.ctx(), at, &says.join("\n"));
            return None;
        }
        self.seen = None;
        if let [only] = &offers[..] {
            actions.push(only.clone().action(file.clone()));
        } else {
            self.asked = Some((file.clone(), offers));
            ui.ctx().request_repaint();
        }
        None
    }

    /// The kind of a file, which is looked at once.
    fn kind(&mut self, file: &Path) -> Result<Kind, String> {
        let seen = self.seen.take().filter(|(path, _)| path == file);
        let seen = seen.unwrap_or_else(|| (file.to_owned(), look(file)));
        self.seen.insert(seen).1.clone()
    }

    /// Asks what should become of a file.
    fn ask(&mut self, ctx: &Context, actions: &mut Vec<Action>) {
        let Some((file, offers)) = &self.asked else {
            return;
        };
        let mut chosen = None;
        let modal = Modal::new(Id::unique("dropped")).show(ctx, |ui| {
            ui.strong(words::name(file));
            ui.label(words::WHAT);
            for offer in offers {
                let (name, hint) = offer.says();
                if ui.button(name).on_hover_text(hint).clicked() {
                    chosen = Some(offer.clone());
                }
            }
            ui.button(words::NOTHING)
                .on_hover_text(chart::NOT_CHOSEN)
                .clicked()
        });
        if let Some(offer) = chosen {
            actions.push(offer.action(file.clone()));
            self.asked = None;
        } else if modal.inner || modal.should_close() {
            self.asked = None;
        }
    }
}

/// Looks at the start of a file.
fn look(file: &Path) -> Result<Kind, String> {
    let mut head = Vec::new();
    if Kind::of(file, &head) == Some(Kind::Song) {
        let read = File::open(file).and_then(|file| file.take(HEAD).read_to_end(&mut head));
        read.map_err(|error| words::unread(file, &error.to_string()))?;
    }
    Kind::of(file, &head).ok_or_else(|| words::unknown(file))
}

/// Says something beside the pointer.
fn beside(ctx: &Context, at: Option<Pos2>, said: &str) {
    let at = at.unwrap_or_else(|| ctx.content_rect().center());
    let area = Area::new(Id::unique("dragged over"))
        .order(Order::Tooltip)
        .interactable(false)
        .fixed_pos(at + vec2(BESIDE, BESIDE));
    area.show(ctx, |ui| {
        Frame::popup(ui.style()).show(ui, |ui| ui.label(said));
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section() -> Place {
        Place::Section {
            place: 2,
            name: "Riff".to_owned(),
            bar: 17,
        }
    }

    #[test]
    fn a_kind_is_told_by_name_and_start() {
        for (name, head, kind) in [
            ("a.json", &b"{\"fourlimb_song\": 1}"[..], Some(Kind::Song)),
            ("a.JSON", b"{ \"fourlimb_map\": 1}", Some(Kind::Map)),
            ("a.midnam", b"", Some(Kind::Map)),
            ("a.MID", b"", Some(Kind::Midi)),
            ("a.b.midi", b"", Some(Kind::Midi)),
            ("a.json", b"{\"fourlimb_beat\": 1}", Some(Kind::Beat)),
            ("a.txt", b"", Some(Kind::Beat)),
            ("a.wav", b"", Some(Kind::Sound)),
            ("a.flac", b"", Some(Kind::Sound)),
            ("a.exe", b"MThd", None),
            ("mid", b"MThd", None),
        ] {
            assert_eq!(Kind::of(Path::new(name), head), kind, "{name}");
        }
    }

    #[test]
    fn the_place_says_what_a_midi_file_becomes() {
        let of = |place| Offer::of(Kind::Midi, &place, 3);
        let lock = Offer::Lock(2, "Riff".to_owned());
        let compare = Offer::Compare(2, "Riff".to_owned());
        let beat = Offer::Beat(3);
        let all = [compare, lock.clone(), beat.clone(), Offer::Guitar(17)];
        assert_eq!(of(section()), all);
        assert_eq!(of(Place::Guitar(5)), [Offer::Guitar(5)]);
        assert_eq!(of(Place::Sampler), [Offer::Map]);
        let elsewhere = [Offer::Guitar(3), beat, Offer::Map];
        assert_eq!(of(Place::Elsewhere(3)), elsewhere);
        let file = PathBuf::from("a.mid");
        assert_eq!(lock.action(file.clone()), Action::Lock(file.clone(), 2));
        let guitar = Offer::Guitar(17).action(file.clone());
        assert_eq!(guitar, Action::LoadRiff(file, 17, None));
    }

    #[test]
    fn other_files_become_one_thing_wherever_they_fall() {
        for place in [
            section(),
            Place::Guitar(1),
            Place::Sampler,
            Place::Elsewhere(4),
        ] {
            assert_eq!(Offer::of(Kind::Song, &place, 1), [Offer::Open]);
            assert_eq!(Offer::of(Kind::Map, &place, 1), [Offer::Map]);
            let guitar = [Offer::Guitar(place.bar())];
            assert_eq!(Offer::of(Kind::Sound, &place, 1), guitar);
        }
    }

    #[test]
    fn a_file_that_is_none_of_ours_or_is_gone_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let gone = look(&folder.path().join("a.json")).unwrap_err();
        assert!(gone.contains("a.json can't be read"), "{gone}");
        let odd = look(Path::new("a.doc")).unwrap_err();
        assert!(
            odd.contains("a.doc can't be used here: drop a song"),
            "{odd}"
        );
        let map = folder.path().join("map.json");
        std::fs::write(&map, "{\"fourlimb_map\": 1}").unwrap();
        assert_eq!(look(&map), Ok(Kind::Map));
    }
}
