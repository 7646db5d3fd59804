//! What the framework does not hand on, as egui sees it.

use egui::{Context, Event, Modifiers, PointerButton, Pos2, RawInput, pos2};
use fourlimb::editor::from_system::{FromSystem, Input, Told};
use nice_plug_egui::RepaintNotifier;
use std::path::PathBuf;

/// What egui sees in the next frame: the files over the window, those that were dropped, and where the pointer is.
fn frame(ctx: &Context) -> (usize, Vec<PathBuf>, Option<Pos2>) {
    let mut seen = Default::default();
    let mut output = ctx.run_ui(RawInput::default(), |ui| {
        seen = ui.input(|input| {
            let dropped = input.raw.dropped_files.iter();
            let dropped = dropped.map(|file| file.path().to_owned()).collect();
            let over = input.raw.hovered_files.len();
            (over, dropped, input.pointer.latest_pos())
        });
    });
    // Nobody paints.
    output.textures_delta.clear();
    seen
}

#[test]
fn egui_sees_what_was_told_one_a_frame() {
    let (from, ctx) = (FromSystem::new(RepaintNotifier::new()), Context::default());
    ctx.add_plugin(Input::new(from.clone()));
    let files = vec![PathBuf::from("/a.mid")];
    // Of moves the last one counts.
    from.tell(Told::Over((9, 9), files.clone()));
    from.tell(Told::Over((30, 40), files.clone()));
    from.tell(Told::Dropped((50, 60), files.clone()));
    let at = |x, y| Some(pos2(x, y));
    assert_eq!(frame(&ctx), (1, vec![], at(30.0, 40.0)));
    assert_eq!(frame(&ctx), (0, files.clone(), at(50.0, 60.0)));
    assert_eq!(frame(&ctx), (0, vec![], at(50.0, 60.0)));
    from.tell(Told::Over((1, 2), files));
    from.tell(Told::Left);
    assert_eq!(frame(&ctx).0, 1);
    assert_eq!(frame(&ctx), (0, vec![], None));
}

/// The button of which the system kept the end to itself is no longer held.
#[test]
fn the_button_is_let_go() {
    let (from, ctx) = (FromSystem::new(RepaintNotifier::new()), Context::default());
    ctx.add_plugin(Input::new(from.clone()));
    let press = RawInput {
        events: vec![
            Event::PointerMoved(pos2(5.0, 5.0)),
            Event::PointerButton {
                pos: pos2(5.0, 5.0),
                button: PointerButton::Primary,
                pressed: true,
                modifiers: Modifiers::NONE,
            },
        ],
        ..RawInput::default()
    };
    let held = |input| {
        let mut held = false;
        let mut output = ctx.run_ui(input, |ui| {
            held = ui.input(|input| input.pointer.any_down());
        });
        output.textures_delta.clear();
        held
    };
    assert!(held(press));
    assert!(held(RawInput::default()));
    from.tell(Told::LetGo);
    assert!(!held(RawInput::default()));
}
