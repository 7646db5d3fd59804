//! A song file as text that people like to read: a line a section where it fits, a row a stroke.

use super::file::SongFile;

/// No line is longer where that can be helped, in bytes. Judged.
const WIDTH: usize = 110;

/// What is held stands so much further right than what holds it.
const INDENT: usize = 2;

impl SongFile {
    /// The text of a song file: JSON, laid out for people. [`SongFile::parse`] makes the same song of it, to
    /// the last bit of every number. Allocates.
    ///
    /// Numbers that are none (infinite levels) have no place in JSON; [`super::Timeline::new`] refuses
    /// them.
    pub fn to_text(&self) -> String {
        // Plain fields, lists and maps of names: there is nothing in a song that JSON can't say.
        let json = serde_json::to_string(self).unwrap_or_default();
        lay_out(&json)
    }
}

/// Sound JSON without white space, laid out for people, with a line break at its end. Allocates.
pub(super) fn lay_out(json: &str) -> String {
    let mut text = String::with_capacity(json.len() * 2);
    Node::read(&mut &*json).lay(0, &mut text);
    text.push('\n');
    text
}

/// A piece of JSON, its words as they are written.
enum Node<'a> {
    /// A number, a name in quotes, true, false, null.
    Word(&'a str),
    Array(Vec<Self>),
    Object(Vec<(&'a str, Self)>),
}

impl<'a> Node<'a> {
    /// Reads one piece of sound JSON without white space, and goes on to what follows it.
    fn read(rest: &mut &'a str) -> Self {
        match rest.as_bytes().first() {
            Some(b'[') => Self::Array(held(rest, Self::read)),
            Some(b'{') => Self::Object(held(rest, |rest| {
                let key = word(rest);
                *rest = rest.strip_prefix(':').unwrap_or(rest);
                (key, Self::read(rest))
            })),
            _ => Self::Word(word(rest)),
        }
    }

    /// What it holds: keys, empty in an array, and values.
    fn held(&self) -> Vec<(&'a str, &Self)> {
        match self {
            Self::Word(_) => Vec::new(),
            Self::Array(held) => held.iter().map(|node| ("", node)).collect(),
            Self::Object(held) => held.iter().map(|(key, node)| (*key, node)).collect(),
        }
    }

    /// What it begins and ends with.
    fn brackets(&self) -> (&'static str, &'static str) {
        match self {
            Self::Word(_) => ("", ""),
            Self::Array(_) => ("[", "]"),
            Self::Object(_) => ("{", "}"),
        }
    }

    /// Whether it is a list of rows or objects, each on a line of its own.
    fn is_list(&self) -> bool {
        let long = |node: &Self| !matches!(node, Self::Word(_));
        matches!(self, Self::Array(held) if held.iter().any(long))
    }

    /// Whether there is a list in it, so that it takes several lines.
    fn has_list(&self) -> bool {
        self.is_list() || self.held().iter().any(|(_, node)| node.has_list())
    }

    /// All of it on one line.
    fn line(&self) -> String {
        if let Self::Word(word) = self {
            return (*word).to_owned();
        }
        let (open, close) = self.brackets();
        let inside: Vec<_> = self.held().into_iter().map(entry).collect();
        let inside = inside.join(", ");
        match self {
            Self::Object(held) if !held.is_empty() => format!("{open} {inside} {close}"),
            _ => format!("{open}{inside}{close}"),
        }
    }

    /// Lays it out where so much of the line is taken up.
    fn lay(&self, column: usize, text: &mut String) {
        let song = column == 0;
        let line = self.line();
        let fits = !self.has_list() && column + line.len() <= WIDTH;
        if matches!(self, Self::Word(_)) || fits && !song {
            text.push_str(&line);
            return;
        }
        let (open, close) = self.brackets();
        text.push_str(open);
        let one_a_line = song || self.is_list();
        let inner = column + INDENT;
        // Where the next one could go on in the line, if there is one to go on in.
        let mut end = None;
        for (i, (key, node)) in self.held().into_iter().enumerate() {
            if i > 0 {
                text.push(',');
            }
            let wide = entry((key, node)).len() + 2;
            let several = node.has_list() || inner + wide > WIDTH;
            match end {
                Some(at) if !one_a_line && !several && at + wide <= WIDTH => {
                    text.push(' ');
                    end = Some(at + wide);
                }
                _ => {
                    new_line(inner, text);
                    end = Some(inner + wide).filter(|_| !several);
                }
            }
            if !key.is_empty() {
                text.push_str(key);
                text.push_str(": ");
            }
            node.lay(inner, text);
        }
        new_line(column, text);
        text.push_str(close);
    }
}

/// A value with its key, on one line.
fn entry((key, node): (&str, &Node)) -> String {
    match key {
        "" => node.line(),
        key => format!("{key}: {}", node.line()),
    }
}

fn new_line(column: usize, text: &mut String) {
    text.push('\n');
    text.extend(std::iter::repeat_n(' ', column));
}

/// Reads what stands between brackets, separated by commas, and goes on behind them.
fn held<'a, T>(rest: &mut &'a str, read: impl Fn(&mut &'a str) -> T) -> Vec<T> {
    let mut held = Vec::new();
    while let Some(inside) = rest.strip_prefix(['[', '{', ',']) {
        if held.is_empty() && inside.starts_with([']', '}']) {
            *rest = inside;
            break;
        }
        *rest = inside;
        held.push(read(rest));
    }
    *rest = rest.strip_prefix([']', '}']).unwrap_or(rest);
    held
}

/// Reads a number or a name in quotes.
fn word<'a>(rest: &mut &'a str) -> &'a str {
    let end = match rest.strip_prefix('"') {
        Some(name) => {
            let mut escaped = false;
            let close = name.find(|letter| {
                let closes = letter == '"' && !escaped;
                escaped = letter == '\\' && !escaped;
                closes
            });
            close.map(|at| at + 2)
        }
        None => rest.find([',', ':', ']', '}']),
    };
    let (word, after) = rest.split_at(end.unwrap_or(rest.len()));
    *rest = after;
    word
}
