//! Jobs of riffs.

use super::{JobError, RiffFile};
use crate::project::Project;
use crate::riff::import::{ImportError, from_midi, from_sound, is_midi};
use crate::time::TempoMap;

/// Reads a riff and lays it over the one that is there; how many attacks it has.
pub(super) fn load(
    file: &RiffFile,
    project: &Project,
    mut progress: impl FnMut(f32) -> bool,
) -> Result<usize, JobError> {
    let mut goes_on = true;
    let bytes = std::fs::read(&file.path).map_err(|error| JobError::Riff(error.to_string()))?;
    let riff: Result<_, ImportError> = if is_midi(&bytes) {
        from_midi(&bytes, file.track, file.place)
    } else {
        let tempo = TempoMap::constant(file.bpm);
        from_sound(bytes, file.sensitivity, &tempo, file.place, |share| {
            goes_on = progress(share);
            goes_on
        })
    };
    if !goes_on {
        return Err(JobError::Cancelled);
    }
    let riff = riff.map_err(|error| JobError::Riff(error.to_string()))?;
    project.change_riff(|kept| kept.lay_over(&riff));
    Ok(riff.attacks().len())
}
