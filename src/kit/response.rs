//! How a sampler answers velocity: the velocity that is sent for the one that is played.

use serde::{Deserialize, Serialize};

/// A curve from the velocity that is played to the one that is sent, both 1..=127. It never falls.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Response {
    /// What velocity 1 becomes, 1..=127.
    pub floor: u8,
    /// What velocity 127 becomes, from the floor to 127.
    pub ceiling: u8,
    /// How the curve bends between them, -100..=100: above 0 it lifts soft strokes, below it lowers them.
    pub bend: i8,
}

impl Response {
    /// What is played is sent.
    pub const PLAIN: Self = Self {
        floor: 1,
        ceiling: 127,
        bend: 0,
    };

    /// The same within what makes sense.
    #[must_use]
    pub fn sane(self) -> Self {
        let floor = self.floor.clamp(1, 127);
        Self {
            floor,
            ceiling: self.ceiling.clamp(floor, 127),
            bend: self.bend.clamp(-100, 100),
        }
    }

    /// The velocity that is sent for one that is played, 1..=127.
    pub fn sent(self, played: u8) -> u8 {
        if self == Self::PLAIN {
            return played.clamp(1, 127);
        }
        let Self {
            floor,
            ceiling,
            bend,
        } = self.sane();
        let x = f32::from(played.clamp(1, 127) - 1) / 126.0;
        // At the ends of the bend the curve is a fourth power, or its mirror image. Judged.
        let bent = x.powf((-f32::from(bend) / 50.0).exp2());
        let sent = f32::from(floor) + f32::from(ceiling - floor) * bent;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let sent = sent.round() as u8;
        sent.clamp(floor, ceiling)
    }

    /// The velocity that was played where one was sent: the nearest, and the softest of several.
    pub fn played(self, sent: u8) -> u8 {
        let distance = |played: &u8| self.sent(*played).abs_diff(sent);
        (1..=127).min_by_key(distance).unwrap_or(sent)
    }
}

impl Default for Response {
    fn default() -> Self {
        Self::PLAIN
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn curves_never_fall_and_stay_in_range(floor in 0u8..=255, ceiling in 0u8..=255, bend: i8) {
            let response = Response { floor, ceiling, bend };
            let sent: Vec<_> = (1..=127).map(|played| response.sent(played)).collect();
            prop_assert!(sent.is_sorted());
            let sane = response.sane();
            prop_assert_eq!((sent[0], sent[126]), (sane.floor, sane.ceiling));
            prop_assert!((1..=127).contains(&sent[0]) && sent[126] <= 127);
            // What was sent is read as what sends it again.
            for sent in sent {
                prop_assert_eq!(response.sent(response.played(sent)), sent);
            }
        }
    }

    #[test]
    fn the_plain_one_changes_nothing_and_a_bend_lifts() {
        for velocity in 1..=127 {
            assert_eq!(Response::PLAIN.sent(velocity), velocity);
            assert_eq!(Response::PLAIN.played(velocity), velocity);
        }
        let bent = |bend| {
            Response {
                bend,
                ..Response::PLAIN
            }
            .sent(64)
        };
        assert!(bent(-100) < 16 && bent(-50) < 40 && bent(50) > 80 && bent(100) > 100);
    }
}
