//! Words of the hits of the band.

/// The switch that proposes them, and what it does.
pub const SUGGEST: (&str, &str) = (
    "Suggest hits",
    "Outlines the strokes of the guitar that stand out by strength and by the silence after them. Click one below the \
     lanes to have the band hit it.",
);
/// Explains the strip.
pub const HINT: &str = "Click a stroke or a sixteenth: the band hits there, and the drummer catches it. Click again for \
                        the other length, and once more to take it away. Keys: arrows and Enter.";
/// Where there is no section to hold them.
pub const NO_SECTION: &str = "Hits belong to a section of the chart: draw one on the strip above.";
/// Where a section is locked.
pub const LOCKED: &str = "This section plays your own region. Unlock it to mark hits.";

/// A place in words: "bar 3: short hit on 2 and". `held` as in a hit, `None` where there is none.
pub fn place(bar: i64, place: &str, held: Option<bool>, is_suggested: bool) -> String {
    let what = match held {
        Some(false) => "short hit on",
        Some(true) => "long hit on",
        None if is_suggested => "suggested hit on",
        None => "no hit on",
    };
    format!("bar {bar}: {what} {place}")
}

/// How many are in the bars on show.
pub fn count(hits: usize) -> String {
    match hits {
        0 => "no hits of the band".to_owned(),
        1 => "1 hit of the band".to_owned(),
        n => format!("{n} hits of the band"),
    }
}
