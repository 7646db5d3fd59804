//! Carries out what the views ask for: the project changes, files go through dialogs and jobs.

use super::action::{Action, Export, Part};
use super::controls::Values;
use super::dialog::{self, Ask};
use super::panel::Panel;
use super::snapshot::Snapshot;
use super::text::{self, chart as words, sampler};
use crate::export::What;
use crate::files::{Existing, names};
use crate::params::FourlimbParams;
use crate::project::dragged::Region;
use crate::project::jobs::{HandEdit, RiffFile, taken_out::TakeOut};
use crate::project::{Job, JobQueue, Outcome, Song};
use crate::riff::Riff;
use crate::riff::import::Place;
use crate::settings::{SettingId, Settings};
use crate::song::{SongError, SongFile, Timeline};
use std::path::PathBuf;

/// The settings that go with a song that is taken up.
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

/// The dialogs of a window: each is for an action that lacks its path.
pub type Dialogs = dialog::Dialogs<Action>;

/// Carries out the actions of a frame, and those of dialogs and jobs that ended since the last one; tells the views
/// how it went. Returns the settings that a song brings along, with their values. Main thread.
pub fn carry_out(
    actions: Vec<Action>,
    snapshot: &Snapshot,
    panel: &mut Panel,
    params: &FourlimbParams,
    jobs: &JobQueue,
    dialogs: &mut Dialogs,
) -> Vec<(SettingId, f32)> {
    let mut brought = Vec::new();
    let stands = &snapshot.values.settings;
    let chosen = match dialogs.answer() {
        Some((action, Some(path))) => Some(action.at(path)),
        Some((asked, None)) => {
            let why = if dialogs.cannot_open() {
                words::NO_DIALOG
            } else {
                words::NOT_CHOSEN
            };
            match asked {
                Action::LoadMap(_) | Action::SaveMap(..) => {
                    panel.sampler.files.tell(why.to_owned());
                }
                _ => panel.files.form.tell(why.to_owned()),
            }
            None
        }
        None => None,
    };
    for action in actions.into_iter().chain(chosen) {
        if action
            .path()
            .is_some_and(|path| path.as_os_str().is_empty())
            && let Some(ask) = ask(&action, params.project.song().as_deref())
        {
            dialogs.open(action, ask);
            continue;
        }
        let changed = match action {
            // The root makes gestures of them.
            Action::Set(..) | Action::SetEnd(..) | Action::Leave(..) => continue,
            Action::ChangeSong(song, gesture) => params.project.change_song(*song, gesture),
            Action::Edit(section, edits, gesture) => {
                params.project.change_edits(section, edits, gesture)
            }
            // Where it is dragged, the root has done it.
            Action::TakeOut(part, _) => region(&part, params, snapshot).map(|region| {
                let take = region.map(|region| TakeOut { region, then: None });
                take.map(Job::TakeOut)
                    .into_iter()
                    .for_each(|job| jobs.send(job));
            }),
            Action::KeepBeat(number, beat) => {
                params.project.keep_beat(number, beat.map(|beat| *beat))
            }
            Action::OpenSong(song) => open(params, *song, stands).map(|values| brought = values),
            Action::Undo => {
                brought = params.project.undo(stands);
                panel.forget_changes();
                continue;
            }
            Action::Redo => {
                brought = params.project.redo(stands);
                panel.forget_changes();
                continue;
            }
            action => {
                other(action, snapshot, params, jobs);
                continue;
            }
        };
        let trouble = changed.err().map(|error| error.to_string());
        panel.trouble = trouble;
    }
    learn(panel, params);
    for outcome in jobs.ended() {
        brought.extend(tell(outcome, panel, params, stands));
    }
    panel.types_paths |= dialogs.cannot_open();
    panel.files.form.set_busy(jobs.is_busy());
    panel.sampler.files.set_busy(jobs.is_busy());
    panel.form.tell(jobs.riff_progress(), None);
    panel.played.tell(jobs.is_busy(), None);
    brought
}

/// Takes up the notes that came in to be learned.
fn learn(panel: &mut Panel, params: &FourlimbParams) {
    let project = &params.project;
    while panel.sampler.is_learning()
        && let Some(note) = project.learned()
    {
        if let Some(map) = panel.sampler.learn(note, &project.document().map) {
            project.change_map(map, None);
        }
    }
}

/// What the dialog for an action asks for; `None` where it needs none.
fn ask(action: &Action, song: Option<&Song>) -> Option<Ask> {
    let title = song.map_or("", |song| &song.file.title);
    let name = |ending: &str| Some(names::suggested(title, "song", ending));
    let (title, filter, name) = match action {
        Action::LoadSong(_) => (words::LOAD.0, dialog::SONGS, None),
        Action::SaveSong(..) => (words::SAVE.0, dialog::SONGS, name("json")),
        Action::Export(_) => (words::EXPORT.0, dialog::MIDI, name("mid")),
        Action::Score(..) => (words::SCORE.0, dialog::SCORES, name("pdf")),
        Action::Lock(..) => (words::LOCK.0, dialog::MIDI, None),
        Action::Compare(..) => (words::COMPARE.0, dialog::MIDI, None),
        Action::LoadBeat(..) => (text::own_beats::DIALOG, dialog::BEAT_SOURCES, None),
        Action::SaveBeat(..) => (
            text::own_beats::DIALOG,
            dialog::BEATS,
            Some("beat.json".to_owned()),
        ),
        Action::Unlock(..) => (words::UNLOCK.0, dialog::MIDI, name("mid")),
        Action::LoadRiff(..) => (text::LOAD, dialog::GUITARS, None),
        Action::LoadMap(_) => (sampler::LOAD.0, dialog::MAP_SOURCES, None),
        Action::SaveMap(..) => (sampler::SAVE.0, dialog::MAPS, Some("map.json".to_owned())),
        Action::KeepPlayed(_) => (text::KEEP, dialog::MIDI, Some("played.mid".to_owned())),
        _ => return None,
    };
    Some(Ask {
        title: title.to_owned(),
        filter,
        name,
        folder: None,
    })
}

/// Carries out what can't fail at once, or is a job.
fn other(action: Action, snapshot: &Snapshot, params: &FourlimbParams, jobs: &JobQueue) {
    let project = &params.project;
    let song = || project.song();
    let existing = |replace| [Existing::Keep, Existing::Replace][usize::from(replace)];
    let bar = snapshot.meter.bar_len();
    let job = match action {
        Action::Riff(act) => return project.change_riff(|riff| act.apply(riff, bar)),
        Action::CancelRiff => return jobs.cancel(),
        Action::ClearSong => return project.clear_song(),
        Action::ChangeMap(map, gesture) => return project.change_map(*map, gesture),
        Action::Hear(struck) => return project.try_stroke(struck),
        Action::Learn(learns) => return project.set_learning(learns),
        Action::LoadMap(path) => Some(Job::LoadMap(path)),
        Action::SaveMap(path, replace) => Some(Job::SaveMap {
            path,
            map: project.document().map,
            existing: existing(replace),
        }),
        Action::KeepMap => Some(Job::KeepMap(project.document().map)),
        Action::LoadRiff(path, first, track) => Some(Job::LoadRiff(RiffFile {
            path,
            track,
            place: Place {
                at: (first - 1) * bar,
                bar,
            },
            bpm: snapshot.bpm,
            sensitivity: snapshot.values.settings.sensitivity,
        })),
        Action::KeepPlayed(path) => Some(Job::KeepPlayed(path)),
        Action::LoadSong(path) => Some(Job::Load(path)),
        Action::SaveSong(path, replace) => song().map(|song| Job::Save {
            path,
            song: Box::new(whole(params, &song.file)),
            existing: existing(replace),
        }),
        Action::Export(Export {
            path,
            options,
            replace,
            host_tempo,
        }) => song().map(|song| Job::Export {
            path,
            timeline: Box::new(as_played(params, song.timeline.clone(), host_tempo)),
            options,
            existing: existing(replace),
        }),
        Action::Score(Export {
            path,
            options,
            replace,
            host_tempo,
        }) => song().map(|song| Job::Score {
            path,
            timeline: Box::new(as_played(params, song.timeline.clone(), host_tempo)),
            what: options.what,
            existing: existing(replace),
        }),
        Action::Lock(path, section) => hand_edit(params, path, section).map(Job::Lock),
        Action::Compare(path, section) => hand_edit(params, path, section).map(Job::Compare),
        Action::LoadBeat(path, number) => Some(Job::LoadBeat(path, number)),
        Action::SaveBeat(path, number, replace) => {
            let beat = project.document().own_beats().kept().remove(&number);
            beat.map(|beat| Job::SaveBeat {
                path,
                beat: Box::new(beat),
                existing: existing(replace),
            })
        }
        Action::Unlock(path, section) => hand_edit(params, path, section).map(Job::Unlock),
        Action::Set(..)
        | Action::SetEnd(..)
        | Action::Leave(..)
        | Action::PlayFrom(_)
        | Action::Loop(_)
        | Action::Remember
        | Action::Swap
        | Action::ChangeSong(..)
        | Action::Edit(..)
        | Action::KeepBeat(..)
        | Action::OpenSong(_)
        | Action::TakeOut(..)
        | Action::Undo
        | Action::Redo => None,
    };
    if let Some(job) = job {
        jobs.send(job);
    }
}

/// A section of the song that is edited by hand.
fn hand_edit(params: &FourlimbParams, path: PathBuf, section: usize) -> Option<HandEdit> {
    let song = params.project.song()?;
    Some(HandEdit {
        path,
        song: Box::new(song.file.clone()),
        timeline: Box::new(as_played(params, song.timeline.clone(), true)),
        section,
    })
}

/// Tells the view that asked how a job ended. Returns the settings that a song brings along.
fn tell(
    outcome: Outcome,
    panel: &mut Panel,
    params: &FourlimbParams,
    stands: &Settings,
) -> Vec<(SettingId, f32)> {
    let files = &mut panel.files.form;
    match outcome {
        Outcome::Riff(read) => panel.form.tell(None, Some(read)),
        Outcome::Kept(kept) => panel.played.tell(false, Some(kept)),
        Outcome::MapRead(Ok(read)) => {
            let read = *read;
            let files = &mut panel.sampler.files;
            files.tell_change(sampler::loaded(&read.map));
            params.project.change_map(read.map, None);
            panel.sampler.propose(read.proposal, read.others);
        }
        Outcome::MapRead(Err(why)) => panel.sampler.files.tell(sampler::not_loaded(&why)),
        Outcome::MapWritten(Ok(said)) => panel.sampler.files.tell(said),
        Outcome::MapWritten(Err(why)) => panel.sampler.files.tell(sampler::not_written(&why)),
        Outcome::MapExists(path) => panel.sampler.files.tell_exists(sampler::exists(&path)),
        Outcome::TakenOut(said) | Outcome::BeatWritten(said) => panel.said.tell(said),
        Outcome::BeatRead(_, Err(why)) => panel.said.tell(Err(why)),
        Outcome::BeatRead(number, Ok((beat, report))) => {
            let said = text::own_beats::kept(number, &beat.name, &report);
            let kept = params.project.keep_beat(number, Some(*beat));
            let is_kept = kept.is_ok();
            panel
                .said
                .tell(kept.map(|()| said).map_err(|error| error.to_string()));
            if is_kept {
                return vec![(SettingId::Style, f32::from(super::own_beats::slot(number)))];
            }
        }
        Outcome::Done => {}
        Outcome::Written(said) | Outcome::Failed(said) => files.tell(said),
        Outcome::Exists(path) => files.tell_exists(words::exists(&path)),
        Outcome::Changed(song, said) => {
            let changed = params.project.change_song(*song, None);
            match changed {
                Ok(()) => files.tell_change(said),
                Err(error) => files.tell(error.to_string()),
            }
        }
        Outcome::Loaded(song) => {
            let said = words::loaded(song.sections.len(), &song.title);
            match open(params, *song, stands) {
                Ok(values) => {
                    files.tell_change(said);
                    return values;
                }
                Err(error) => files.tell(error.to_string()),
            }
        }
    }
    Vec::new()
}

/// Takes a song up: its chart, its riff where it has one, and what it says of the panel, which stands as `stands` says
/// until then.
fn open(
    params: &FourlimbParams,
    mut song: SongFile,
    stands: &Settings,
) -> Result<Vec<(SettingId, f32)>, SongError> {
    let timeline = Timeline::new(&song)?;
    let start = timeline.start_settings();
    let riff = song.riff.take();
    let riff = riff.and_then(|data| Riff::load(&data).ok());
    let values = Values {
        settings: start,
        ..Values::default()
    };
    // What the song leaves to the panel stays as the panel has it.
    let of_song = OF_SONG.into_iter();
    let of_song = of_song.filter(|setting| !timeline.chart().leaves(*setting));
    let brought: Vec<_> = of_song
        .map(|setting| (setting, values.get(setting)))
        .collect();
    let replaced = brought
        .iter()
        .map(|(setting, _)| (*setting, stands.get(*setting)));
    let replaced = replaced
        .zip(&brought)
        .filter(|(old, new)| old != *new)
        .map(|(old, _)| old);
    params.project.open_song(song, riff, replaced.collect())?;
    Ok(brought)
}

/// The song with what the panel and the riff say of it.
fn whole(params: &FourlimbParams, song: &SongFile) -> SongFile {
    let Settings { bar_settings, .. } = params.settings();
    let riff = params.project.document().riff;
    SongFile {
        take: bar_settings.take,
        phrase_bars: u32::try_from(bar_settings.phrase.bars()).unwrap_or(4),
        kick_source: Some(bar_settings.kick_source),
        riff_grid: Some(bar_settings.riff_grid),
        riff: (!riff.is_empty()).then(|| riff.save()),
        ..song.clone()
    }
}

/// A part of what is played, as it is played now; `None` where there is no song.
///
/// # Errors
/// [`SongError`] where the panel can't be laid out as a song.
pub fn region(
    part: &Part,
    params: &FourlimbParams,
    snapshot: &Snapshot,
) -> Result<Option<Region>, SongError> {
    let song = |what| {
        let song = params.project.song()?;
        let timeline = as_played(params, song.timeline.clone(), true);
        let timeline = Box::new(timeline);
        Some(Region { timeline, what })
    };
    match *part {
        Part::Song(ref what) => Ok(song(what.clone())),
        Part::Shown(first, bars) if snapshot.followed().is_some() => {
            Ok(song(What::Bars(first, first.saturating_add(bars) - 1)))
        }
        Part::Shown(first, bars) => {
            let (panel, riff) = (params.settings(), &snapshot.attacks);
            let time = (snapshot.meter, snapshot.bpm);
            Region::of_panel(&panel, riff, time, (first, bars)).map(Some)
        }
    }
}

/// The song as the plugin plays it now, at the host's tempi where they were observed and are wanted.
fn as_played(params: &FourlimbParams, mut timeline: Timeline, host_tempo: bool) -> Timeline {
    let document = params.project.document();
    if host_tempo && !document.observed.is_empty() {
        timeline.set_tempo(document.observed.tempo());
    }
    *timeline.start_mut() = Settings {
        follow_chart: true,
        ..params.settings()
    };
    timeline.set_riff(Riff::clone(&document.riff));
    timeline
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::Project;

    #[test]
    fn a_song_is_offered_under_a_name_that_every_system_takes() {
        let save = Action::SaveSong(PathBuf::new(), false);
        let project = Project::default();
        let mut file = SongFile::parse(SongFile::DEMO).unwrap();
        for (title, expected) in [("Why? 1/2", "Why- 1-2.json"), ("aux", "aux-.json")] {
            title.clone_into(&mut file.title);
            project.change_song(file.clone(), None).unwrap();
            let song = project.song().unwrap();
            let asked = ask(&save, Some(&song)).unwrap();
            assert_eq!(asked.name.as_deref(), Some(expected));
        }
        let asked = ask(&save, None).unwrap();
        assert_eq!(asked.name.as_deref(), Some("song.json"));
    }
}
