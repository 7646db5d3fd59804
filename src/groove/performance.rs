//! Turns a stroke into a hit: the piece and the velocity, with the settings of its moment.

use super::cymbal::HandCymbal;
use super::origin::Origin;
use super::stroke::{Hit, Manner, Part, Stroke, StrokeTarget, Version};
use super::{dynamics, openings};
use crate::kit::Piece;
use crate::settings::{Hand, StrokeSettings};

impl Part {
    /// The hit that a stroke of this part becomes on the given hand cymbal; `None` where density leaves it out.
    /// Audio thread.
    pub fn perform(
        stroke: &Stroke,
        stroke_settings: &StrokeSettings,
        cymbal: HandCymbal,
    ) -> Option<Hit> {
        let hidden = if stroke_settings.density > 0.0 {
            Version::Bare
        } else {
            Version::Varied
        };
        let eager = stroke_settings.intensity >= stroke.min_intensity;
        let mut origin = stroke.origin;
        let piece = match stroke.target {
            _ if stroke.rank > stroke_settings.density => return None,
            _ if stroke.version == hidden => return None,
            _ if !is_played(stroke.manner, stroke_settings, cymbal) => return None,
            StrokeTarget::Opening { rides: true } if !eager => {
                origin = Origin::Beat;
                cymbal.piece()
            }
            _ if !eager => return None,
            StrokeTarget::Piece(piece) => match stroke.manner {
                Manner::FootSplash
                    if stroke_settings.density > 0.0 && cymbal.leaves_the_foot_time() =>
                {
                    origin = Origin::HiHat;
                    Piece::HiHatOpen
                }
                _ => piece,
            },
            StrokeTarget::HandCymbal => {
                let ridden = ridden(stroke.manner, stroke_settings, cymbal);
                if ridden != cymbal {
                    origin = Origin::HiHat;
                }
                ridden.piece()
            }
            StrokeTarget::Opening { .. } => match stroke.manner {
                Manner::Near => cymbal.near_opening(),
                Manner::Crash => cymbal.stated_crash(),
                Manner::Low => Piece::CrashRight,
                _ => cymbal.opening(),
            },
            StrokeTarget::Lifted => match cymbal {
                HandCymbal::HiHatClosed | HandCymbal::HiHatLoose
                    if stroke.manner == Manner::Shut =>
                {
                    cymbal.piece()
                }
                _ => cymbal.lifted(),
            },
        };
        let drawn = || dynamics::velocity(stroke, stroke_settings);
        let exact = stroke.exact.get();
        if stroke.is_asked() {
            origin = Origin::ByHand;
        }
        Some(Hit {
            tick: stroke.play_tick,
            grid: stroke.tick + stroke.grace,
            limb: stroke.limb,
            piece,
            velocity: exact.velocity.unwrap_or_else(drawn),
            origin,
            target: stroke.edit_target(),
            asked: stroke.is_asked(),
            grace: stroke.grace > 0,
            ghost: stroke.is_ghost(),
            ring: stroke.ring,
            opening: exact
                .opening
                .unwrap_or_else(|| openings::opening(stroke, piece, stroke_settings.intensity)),
            turn: stroke.turn,
            alternate: exact.alternate,
        })
    }

    /// Every hit of the part with the same settings throughout.
    pub fn hits<'a>(
        &'a self,
        stroke_settings: &'a StrokeSettings,
    ) -> impl Iterator<Item = Hit> + 'a {
        let cymbal = self.cymbal(stroke_settings);
        self.strokes
            .iter()
            .filter_map(move |stroke| Self::perform(stroke, stroke_settings, cymbal))
    }
}

/// Whether what the hand rides on lets the hi-hat foot play a stroke of this manner.
fn is_played(manner: Manner, stroke_settings: &StrokeSettings, cymbal: HandCymbal) -> bool {
    match manner {
        Manner::FootTime => cymbal.leaves_the_foot_time(),
        Manner::Under | Manner::FootSplash => {
            !matches!(cymbal, HandCymbal::HiHatLoose | HandCymbal::HiHatOpen)
        }
        Manner::Closes => stroke_settings.hand == Hand::Auto && cymbal == HandCymbal::HiHatClosed,
        _ => true,
    }
}

/// What the hand cymbal becomes for one stroke. Only *auto* opens and loosens a hi-hat: a stated one stays.
fn ridden(manner: Manner, stroke_settings: &StrokeSettings, cymbal: HandCymbal) -> HandCymbal {
    let breathes = stroke_settings.hand == Hand::Auto && stroke_settings.density > 0.0;
    match (manner, cymbal) {
        (Manner::Opens, HandCymbal::HiHatClosed | HandCymbal::HiHatLoose) if breathes => {
            HandCymbal::HiHatOpen
        }
        (Manner::Leans, HandCymbal::HiHatClosed) if breathes => HandCymbal::HiHatLoose,
        // The foot that the songwriter asked for shuts it.
        (Manner::Shut, HandCymbal::HiHatLoose | HandCymbal::HiHatOpen) => HandCymbal::HiHatClosed,
        _ => cymbal,
    }
}
