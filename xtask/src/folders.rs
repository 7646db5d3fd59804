//! The systems that Fourlimb is made for, and where each of them looks for a user's own plugins.

use std::path::PathBuf;

/// A system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    /// Linux with glibc.
    Linux,
    /// macOS.
    Macos,
    /// Windows.
    Windows,
}

impl System {
    /// The one that this program was built for; other systems of the Unix kind count as Linux.
    pub const fn here() -> Self {
        if cfg!(target_os = "macos") {
            Self::Macos
        } else if cfg!(target_os = "windows") {
            Self::Windows
        } else {
            Self::Linux
        }
    }

    /// Its name in the names of archives.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Linux => "linux",
            Self::Macos => "macos",
            Self::Windows => "windows",
        }
    }

    /// The per-user folders of the CLAP and VST3 standards, with `/` between their parts: CLAP's `entry.h`, and the
    /// VST3 developer portal's "Plug-in Locations" (both from memory). They lie below the home folder, on Windows
    /// below the folder of local application data.
    pub const fn plugin_folders(self) -> [&'static str; 2] {
        match self {
            Self::Linux => [".clap", ".vst3"],
            Self::Macos => ["Library/Audio/Plug-Ins/CLAP", "Library/Audio/Plug-Ins/VST3"],
            Self::Windows => ["Programs/Common/CLAP", "Programs/Common/VST3"],
        }
    }

    /// Where a user's own programs lie, below the same folder.
    pub const fn program_folder(self) -> &'static str {
        match self {
            // The XDG Base Directory Specification's folder for a user's executable files.
            Self::Linux => ".local/bin",
            Self::Macos => "Applications",
            Self::Windows => "Programs/Fourlimb",
        }
    }

    /// The folder that the others lie below, for this user; none where the user has no home.
    pub fn base(self) -> Option<PathBuf> {
        let base = directories::BaseDirs::new()?;
        Some(match self {
            Self::Windows => base.data_local_dir().to_owned(),
            Self::Linux | Self::Macos => base.home_dir().to_owned(),
        })
    }
}
