//! The words of the drawers.

/// Their names, from left to right.
pub const NAMES: [&str; 5] = ["Guitar", "Phrasing", "Limbs", "Sound", "Files"];
/// What is in them.
pub const HINTS: [&str; 5] = [
    "What the kick follows, and the riff that was captured or loaded.",
    "How long phrases are, where crashes stand, and what is played at all.",
    "How fast, how loose and how swung the drummer plays.",
    "The built-in sound, and the way to your sampler.",
    "Songs, MIDI files, and what was played.",
];
/// How the notes reach a sampler.
pub const ROUTING: &str = "To hear your own sampler: in the recording program put it on a track that takes the MIDI \
     output of this one, or put it behind Fourlimb on the same track, or record the notes and drag them there. Then \
     switch the preview off.";

/// What the kick follows, and what is known of the riff.
pub fn guitar(source: &str, attacks: usize, known: bool) -> String {
    format!("kick: {source}, {}", super::riff(attacks, known))
}

/// Phrases and crashes.
pub fn phrasing(phrase: &str, crashes: &str) -> String {
    format!("{phrase}, crashes: {crashes}")
}

/// The drummer as a person.
pub fn limbs(chops: &str, looseness: &str, swing: &str) -> String {
    format!("{chops}, loose {looseness}, swing {swing}")
}

/// The preview, and what the sampler is sent.
pub fn sound(level: Option<&str>, map: &str) -> String {
    let preview = level.map_or_else(
        || "preview off".to_owned(),
        |level| format!("preview {level}"),
    );
    format!("{preview}, {map}")
}

/// What the sampler is sent.
pub fn map(name: &str) -> String {
    format!("Note map: {name}")
}

/// The song.
pub fn files(title: Option<&str>) -> String {
    title.map_or_else(|| "no song yet".to_owned(), ToOwned::to_owned)
}
