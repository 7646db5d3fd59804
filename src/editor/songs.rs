//! Does what the chart's page asks for: the keeper changes, files go through the background.

use super::Run;
use super::chart::{Export, SongAct};
use super::controls::Values;
use super::panel::Panel;
use super::text::{self, chart as words};
use crate::files::Existing;
use crate::plugin::Task;
use crate::plugin::dialog::{self, Ask};
use crate::plugin::filing::{HandEdit, Job, Outcome};
use crate::plugin::params::FourlimbParams;
use crate::plugin::song::Song;
use crate::riff::Riff;
use crate::settings::SettingId;
use crate::settings::Settings;
use crate::song::{SongError, SongFile, Timeline};
use std::path::PathBuf;

/// The controls that go with a song that is taken up.
const OF_SONG: [SettingId; 8] = [
    SettingId::Take,
    SettingId::Phrase,
    SettingId::KickSource,
    SettingId::RiffGrid,
    SettingId::Intensity,
    SettingId::Density,
    SettingId::Accent,
    SettingId::FollowChart,
];

/// What a dialog is open for.
#[derive(Debug, Clone, PartialEq)]
pub enum Purpose {
    /// Something with the song, which lacks its path.
    Song(SongAct),
    /// A guitar's file: the bar at which it begins, and its track.
    Guitar(i64, Option<usize>),
    /// Where what was played goes.
    Played,
}

/// The dialogs of a window.
pub type Dialogs = dialog::Dialogs<Purpose>;

/// What the dialog for something with a song asks for; `None` where it needs none.
fn ask(act: &SongAct, song: Option<&Song>) -> Option<Ask> {
    let title = song.map_or("song", |song| song.file.title.trim());
    let name = |ending: &str| Some(format!("{title}.{ending}"));
    let (words, filter, name) = match act {
        SongAct::Load(_) => (words::LOAD, dialog::SONGS, None),
        SongAct::Save(..) => (words::SAVE, dialog::SONGS, name("json")),
        SongAct::Export(_) => (words::EXPORT, dialog::MIDI, name("mid")),
        SongAct::Lock(..) => (words::LOCK, dialog::MIDI, None),
        SongAct::Unlock(..) => (words::UNLOCK, dialog::MIDI, name("mid")),
        SongAct::Change(..) | SongAct::Open(_) | SongAct::Clear => return None,
    };
    Some(Ask {
        title: words.0.to_owned(),
        filter,
        name,
    })
}

/// The dialog for a guitar's file.
pub fn ask_guitar() -> Ask {
    Ask {
        title: text::LOAD.to_owned(),
        filter: dialog::GUITARS,
        name: None,
    }
}

/// The dialog for what was played.
pub fn ask_played() -> Ask {
    Ask {
        title: text::KEEP.to_owned(),
        filter: dialog::MIDI,
        name: Some("played.mid".to_owned()),
    }
}

/// The same with the path that was chosen; whether a file that is there is replaced, the dialog has asked.
fn at(act: SongAct, path: PathBuf) -> SongAct {
    match act {
        SongAct::Load(_) => SongAct::Load(path),
        SongAct::Save(..) => SongAct::Save(path, true),
        SongAct::Export(export) => SongAct::Export(Export {
            path,
            replace: true,
            ..export
        }),
        SongAct::Lock(_, section) => SongAct::Lock(path, section),
        SongAct::Unlock(_, section) => SongAct::Unlock(path, section),
        other => other,
    }
}

/// Does what was asked for since the last frame, and tells the page how it went. Returns the controls that a
/// song brings along, with their values. Main thread.
pub fn tend(
    panel: &mut Panel,
    params: &FourlimbParams,
    run: &Run,
    dialogs: &mut Dialogs,
    chosen: Option<(SongAct, Option<PathBuf>)>,
) -> Vec<(SettingId, f32)> {
    let mut brought = Vec::new();
    let mut acts = panel.take_song_acts();
    match chosen {
        Some((act, Some(path))) => acts.push(at(act, path)),
        Some((_, None)) => panel.chart.files.tell(words::NOT_CHOSEN.to_owned()),
        None => {}
    }
    for act in acts {
        if act.path().is_some_and(|path| path.as_os_str().is_empty())
            && let Some(ask) = ask(&act, params.song.song().as_deref())
        {
            dialogs.open(Purpose::Song(act), ask);
            continue;
        }
        let done = match act {
            SongAct::Change(song, gesture) => params.song.change(*song, gesture),
            SongAct::Open(song) => open(params, *song).map(|values| brought = values),
            act => {
                other(params, run, act);
                Ok(())
            }
        };
        panel.chart.tell(done.err().map(|error| error.to_string()));
    }
    let filing = params.song.filing();
    let files = &mut panel.chart.files;
    files.set_busy(filing.is_busy());
    match filing.take() {
        None => {}
        Some(Outcome::Written(said) | Outcome::Failed(said)) => files.tell(said),
        Some(Outcome::Exists(path)) => files.tell_exists(&path),
        Some(Outcome::Changed(song, said)) => {
            let changed = params.song.change(*song, None);
            files.tell(changed.map_or_else(|error| error.to_string(), |()| said));
        }
        Some(Outcome::Loaded(song)) => {
            let said = text::chart::loaded(song.sections.len(), &song.title);
            match open(params, *song) {
                Ok(values) => {
                    files.tell(said);
                    brought = values;
                }
                Err(error) => files.tell(error.to_string()),
            }
        }
    }
    brought
}

fn other(params: &FourlimbParams, run: &Run, act: SongAct) {
    let keeper = &params.song;
    let song = || keeper.song();
    let existing = |replace| [Existing::Keep, Existing::Replace][usize::from(replace)];
    let job = match act {
        SongAct::Clear => return keeper.clear(),
        SongAct::Load(path) => Some(Job::Load(path)),
        SongAct::Save(path, replace) => song().map(|song| Job::Save {
            path,
            song: Box::new(whole(params, &song.file)),
            existing: existing(replace),
        }),
        SongAct::Export(export) => song().map(|song| Job::Export {
            path: export.path,
            timeline: Box::new(as_played(params, song.timeline.clone(), export.host_tempo)),
            options: export.options,
            existing: existing(export.replace),
        }),
        SongAct::Lock(path, section) => hand_edit(params, path, section).map(Job::Lock),
        SongAct::Unlock(path, section) => hand_edit(params, path, section).map(Job::Unlock),
        SongAct::Change(..) | SongAct::Open(_) => None,
    };
    if let Some(job) = job {
        keeper.filing().expect();
        run(Task::File(Box::new(job)));
    }
}

fn hand_edit(params: &FourlimbParams, path: PathBuf, section: usize) -> Option<HandEdit> {
    let song = params.song.song()?;
    Some(HandEdit {
        path,
        song: Box::new(song.file.clone()),
        timeline: Box::new(as_played(params, song.timeline.clone(), true)),
        section,
    })
}

/// Takes a song up: its chart, its riff where it has one, and what it says of the panel.
fn open(params: &FourlimbParams, mut song: SongFile) -> Result<Vec<(SettingId, f32)>, SongError> {
    let start = Timeline::new(&song)?.start_settings();
    let riff = song.riff.take();
    params.song.change(song, None)?;
    if let Some(riff) = riff.and_then(|saved| Riff::load(&saved).ok()) {
        params.riff.change(|kept| *kept = riff);
    }
    let values = Values {
        settings: start,
        ..Values::default()
    };
    Ok(OF_SONG
        .map(|control| (control, values.get(control)))
        .to_vec())
}

/// The song with what the panel and the riff say of it.
fn whole(params: &FourlimbParams, song: &SongFile) -> SongFile {
    let Settings { bar_settings, .. } = params.settings();
    let riff = params.riff.riff();
    SongFile {
        take: bar_settings.take,
        phrase_bars: u32::try_from(bar_settings.phrase.bars()).unwrap_or(4),
        kick_source: Some(bar_settings.kick_source),
        riff_grid: Some(bar_settings.riff_grid),
        riff: (!riff.is_empty()).then(|| riff.save()),
        ..song.clone()
    }
}

/// The song as the plugin plays it now, at the host's tempi where they were seen and are wanted.
fn as_played(params: &FourlimbParams, mut timeline: Timeline, host_tempo: bool) -> Timeline {
    let seen = params.history.seen();
    if host_tempo && !seen.is_empty() {
        timeline.set_tempo(seen.tempo());
    }
    *timeline.start_mut() = Settings {
        follow_chart: true,
        ..params.settings()
    };
    timeline.set_riff(params.riff.riff());
    timeline
}
