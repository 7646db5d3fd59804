//! Where the framework's messages go: to the standard error, or where `NICE_LOG` says.
//!
//! The framework's own logger keeps a pool for spans: 33 kB with each loading of the library, and nobody can give them
//! back, since a logger stays to the end of its process. Here nobody opens a span, and a loading keeps a few hundred bytes.

use nice_log::NiceLogWriter;
use std::fmt::{self, Write as _};
use std::io::Write;
use std::sync::{Mutex, PoisonError};
use tracing::field::{Field, Visit};
use tracing::level_filters::LevelFilter;
use tracing::{Event, Metadata, Subscriber, span};

/// The least urgent messages that are written.
const LEAST: LevelFilter = if cfg!(debug_assertions) {
    LevelFilter::DEBUG
} else {
    LevelFilter::INFO
};

/// Writes messages, one a line. Any thread.
struct Messages<W>(Mutex<W>);

/// Has messages written from now on. Returns whether they are: a process has one logger for each library in it.
pub(super) fn write() -> bool {
    let messages = Messages(Mutex::new(NiceLogWriter::from_environment()));
    tracing::subscriber::set_global_default(messages).is_ok()
}

impl<W: Write + Send + 'static> Subscriber for Messages<W> {
    fn enabled(&self, metadata: &Metadata<'_>) -> bool {
        metadata.is_event() && *metadata.level() <= LEAST
    }

    fn max_level_hint(&self) -> Option<LevelFilter> {
        Some(LEAST)
    }

    fn event(&self, event: &Event<'_>) {
        let mut line = Line(format!("{:>5}", event.metadata().level()));
        event.record(&mut line);
        line.0.push('\n');
        let mut to = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        // There is nobody left to tell.
        let _ = to.write_all(line.0.as_bytes()).and_then(|()| to.flush());
    }

    fn new_span(&self, _: &span::Attributes<'_>) -> span::Id {
        span::Id::from_u64(1)
    }

    fn record(&self, _: &span::Id, _: &span::Record<'_>) {}

    fn record_follows_from(&self, _: &span::Id, _: &span::Id) {}

    fn enter(&self, _: &span::Id) {}

    fn exit(&self, _: &span::Id) {}
}

/// A message as one line: its text, and its further fields by name.
struct Line(String);

impl Visit for Line {
    fn record_debug(&mut self, field: &Field, value: &dyn fmt::Debug) {
        // A string takes whatever is written.
        let _ = match field.name() {
            "message" => write!(self.0, " {value:?}"),
            name => write!(self.0, " {name}={value:?}"),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::{Arc, mpsc};

    struct Sent(mpsc::Sender<u8>);

    impl Write for Sent {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            for byte in bytes {
                self.0.send(*byte).unwrap();
            }
            Ok(bytes.len())
        }

        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn messages_are_lines_and_spans_and_traces_are_none() {
        let (to, from) = mpsc::channel();
        let messages = Arc::new(Messages(Mutex::new(Sent(to))));
        tracing::subscriber::with_default(messages, || {
            let _span = tracing::error_span!("a span").entered();
            tracing::error!(frames = 64, "{} is no rate", 0);
            tracing::trace!("never");
            tracing::info!("well");
        });
        let written: Vec<u8> = from.try_iter().collect();
        let written = String::from_utf8(written).unwrap();
        assert_eq!(written, "ERROR 0 is no rate frames=64\n INFO well\n");
    }
}
