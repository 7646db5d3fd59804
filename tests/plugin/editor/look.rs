//! What is seen can be read: contrast, targets, focus, and nothing lost in a small window.

use super::*;
use egui::{Color32, Vec2, vec2};
use fourlimb::editor::theme::{DARK, LIGHT, Palette};

/// Relative luminance, as WCAG 2.2 defines it.
fn luminance(colour: Color32) -> f64 {
    let channel = |value: u8| {
        let value = f64::from(value) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * channel(colour.r()) + 0.7152 * channel(colour.g()) + 0.0722 * channel(colour.b())
}

/// Contrast ratio, as WCAG 2.2 defines it.
fn contrast(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Text 4.5 : 1 (WCAG 2.2, 1.4.3), marks 3 : 1 (1.4.11), in both themes, on every ground that they stand on.
#[test]
fn text_and_marks_stand_out() {
    // White on black, as the definition has it.
    assert!((contrast(Color32::WHITE, Color32::BLACK) - 21.0).abs() < 1e-9);
    for (name, palette) in [("dark", &DARK), ("light", &LIGHT)] {
        let Palette {
            ground,
            raised,
            sunk,
            button,
            button_hover,
            chosen,
            turned,
            intense,
            ..
        } = *palette;
        let hot = button.lerp_to_gamma(intense, 1.0);
        for (what, text, grounds) in [
            (
                "text",
                palette.text,
                &[
                    ground,
                    raised,
                    sunk,
                    button,
                    button_hover,
                    chosen,
                    turned,
                    hot,
                    palette.bypassed,
                ][..],
            ),
            (
                "quiet text",
                palette.text_quiet,
                &[ground, raised, sunk, button, turned],
            ),
            ("warnings", palette.fill_text, &[ground, raised, turned]),
            ("accent", palette.accent_text, &[ground, raised, sunk]),
        ] {
            for ground in grounds {
                let ratio = contrast(text, *ground);
                assert!(ratio >= 4.5, "{name}: {what} on {ground:?}: {ratio:.2}");
            }
        }
        let filled = sunk.blend(palette.fill);
        for (piece, mark) in [
            ("kick", palette.kick),
            ("snare", palette.snare),
            ("hi-hat", palette.hi_hat),
            ("ride", palette.ride),
            ("crash", palette.crash),
            ("tom", palette.tom),
            ("playhead", palette.playhead),
        ] {
            for ground in [sunk, ground, filled] {
                let ratio = contrast(mark, ground);
                assert!(ratio >= 3.0, "{name}: {piece} on {ground:?}: {ratio:.2}");
            }
        }
        // The filled part of a level against the empty one.
        assert!(contrast(chosen, sunk) >= 1.5, "{name}");
    }
}

/// How much larger letters are that stand for the longer words of a translation: common practice, no source.
const LONGER_WORDS: f32 = 1.25;

fn small(size: Vec2) -> Harness<'static, Host> {
    let mut harness = editor();
    harness.set_size(size);
    harness.run();
    harness
}

/// Everything that can be pressed is at least 24 points high (WCAG 2.2, 2.5.8), lies in the window and over nothing
/// else, at the sizes that a host may choose, with a drawer and without, with two states to compare and without,
/// whatever the beat is called; and where words are longer, as those of other languages are.
#[test]
fn controls_are_large_enough_and_apart() {
    let sizes = [
        (vec2(900.0, 600.0), 1.0),
        (vec2(900.0, 700.0), 1.0),
        (theme::WINDOW, 1.0),
        (theme::WINDOW, LONGER_WORDS),
    ];
    let drawers = [None, Some(Drawer::Sound)];
    let states = drawers.map(|drawer| [(drawer, false), (drawer, true)]);
    let cases = sizes.map(|size| {
        states
            .as_flattened()
            .iter()
            .map(move |state| (size, *state))
    });
    let length = |style: &usize| Style::ALL[*style].name().len();
    let longest = (0..Style::ALL.len()).max_by_key(length).unwrap();
    let styles = [0, longest].map(|style| f32::from(u8::try_from(style).unwrap()));
    let cases = cases.into_iter().flatten();
    let cases = cases.flat_map(|case| styles.map(move |style| (case, style)));
    for (((size, letters), (drawer, compares)), style) in cases {
        let mut harness = small(size);
        harness.ctx.all_styles_mut(|style| {
            for font in style.text_styles.values_mut() {
                font.size *= letters;
            }
        });
        harness.state_mut().values.set(SettingId::Style, style);
        harness.state_mut().panel.drawer = drawer;
        harness.run();
        if compares {
            harness.get_by_label(text::compare::REMEMBER.0).click();
            harness.run();
        }
        let roles = [
            Role::Button,
            Role::ComboBox,
            Role::Slider,
            Role::CheckBox,
            Role::RadioButton,
        ];
        let mut placed: Vec<(String, egui::Rect)> = Vec::new();
        for role in roles {
            for node in harness.query_all_by_role(role) {
                let label = node.accesskit_node().label().unwrap_or_default();
                placed.push((label, node.rect()));
            }
        }
        assert!(placed.len() > 20);
        let window = egui::Rect::from_min_size(egui::Pos2::ZERO, size);
        for (i, (label, rect)) in placed.iter().enumerate() {
            assert!(rect.height() >= 23.5, "{label} {rect} at {size}");
            assert!(window.contains_rect(*rect), "{label} {rect} at {size}");
            for (other, over) in &placed[i + 1..] {
                let common = rect.intersect(*over);
                let apart = common.width() <= 0.5 || common.height() <= 0.5;
                assert!(
                    apart,
                    "{label} {rect} over {other} {over} at {size}, {style}, letters {letters}"
                );
            }
        }
    }
}

/// No control is lost in the smallest window: what the largest has, it has.
#[test]
fn a_small_window_has_all_controls() {
    let names = |harness: &Harness<'_, Host>| -> BTreeSet<String> {
        let roles = [Role::Button, Role::Slider, Role::CheckBox, Role::SpinButton];
        let nodes = roles
            .into_iter()
            .flat_map(|role| harness.query_all_by_role(role));
        let labels = nodes.filter_map(|node| node.accesskit_node().label());
        labels.collect()
    };
    for drawer in Drawer::ALL.map(Some).into_iter().chain([None]) {
        let mut harness = editor();
        harness.state_mut().panel.drawer = drawer;
        harness.run();
        let large = names(&harness);
        harness.set_size(theme::WINDOW_LEAST);
        harness.run();
        let missing: Vec<_> = large.difference(&names(&harness)).cloned().collect();
        assert!(missing.is_empty(), "{drawer:?}: {missing:?}");
    }
}

/// The lanes have at least half of the window's height at its default size.
#[test]
fn the_lanes_carry_the_window() {
    let harness = editor();
    let lanes = harness.get_by_label(text::LANES).rect();
    assert!(lanes.height() >= theme::WINDOW.y / 2.0, "{lanes}");
}

/// By the keyboard alone every control gets the focus, and the drawers open.
#[test]
fn every_control_is_reached_by_the_keyboard() {
    let mut harness = editor();
    let mut reached = BTreeSet::new();
    for _ in 0..80 {
        harness.key_press(egui::Key::Tab);
        harness.run();
        #[expect(clippy::redundant_closure_for_method_calls, reason = "of any lifetime")]
        let focused = egui_kittest::kittest::by().predicate(|node| node.is_focused());
        let focused = harness.query_all(focused);
        reached.extend(focused.filter_map(|node| node.accesskit_node().label()));
    }
    let wanted = [
        SettingId::Intensity,
        SettingId::Density,
        SettingId::Accent,
        SettingId::FillChance,
        SettingId::Hand,
        SettingId::HandRate,
        SettingId::FillNow,
        SettingId::FollowChart,
        SettingId::Bypass,
    ];
    let wanted = wanted.map(SettingId::name).into_iter();
    let drawers = Drawer::ALL.map(Drawer::name);
    let others = [text::STRIP, text::LANES, text::NEXT_TAKE, text::HELP];
    for name in wanted.chain(drawers).chain(others) {
        assert!(reached.contains(name), "{name} in {reached:?}");
    }
}

/// The steps for a newcomer go as they are done.
#[test]
fn the_first_steps_go_when_they_are_done() {
    use fourlimb::editor::text::first_steps as words;
    let mut harness = editor();
    let left = |harness: &Harness<'_, Host>| {
        let steps = words::STEPS.iter();
        steps
            .filter(|(name, _)| harness.query_by_label(name).is_some())
            .count()
    };
    assert_eq!(left(&harness), 3);
    harness.state_mut().values.set(SettingId::Style, 3.0);
    harness.run();
    assert_eq!(left(&harness), 2);
    let bar = Bar {
        start: 0,
        meter: Meter::FOUR_FOUR,
    };
    harness.state_mut().playhead.at = Some((bar, 10));
    harness.run_steps(4);
    assert_eq!(left(&harness), 1);
    harness.get_by_label(words::STEPS[2].0).click();
    harness.run_steps(4);
    assert_eq!(
        harness.state().panel.page,
        fourlimb::editor::header::Page::Sampler
    );
    harness.key_press(egui::Key::F1);
    harness.run_steps(4);
    assert!(harness.query_by_label(text::help::KEYS_TITLE).is_some());
    harness.key_press(egui::Key::F1);
    harness.run_steps(4);
    assert_eq!(left(&harness), 0);
}

/// What the host moves is marked, and what is turned here is not.
#[test]
fn what_the_host_moves_is_told_apart() {
    let mut harness = editor();
    let marks = |harness: &Harness<'_, Host>| harness.query_all_by_label(text::AUTOMATED).count();
    harness.run_steps(90);
    harness.state_mut().values.set(SettingId::Intensity, 0.9);
    harness.run_steps(4);
    assert_eq!(marks(&harness), 1);
    harness.run_steps(60 * 3);
    assert_eq!(marks(&harness), 0);
    let at = slider(&harness, SettingId::Density).rect().center();
    harness.hover_at(at);
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run_steps(4);
    assert_eq!(marks(&harness), 0);
}
