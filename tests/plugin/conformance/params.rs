//! Parameters and their texts, alike in both standards.

use super::library;
use hosting::vst3::plugin::Plugin;
use hosting::vst3::processing::{Block, Change};
use std::collections::BTreeSet;

/// The standard's flags.
const CAN_AUTOMATE: i32 = 1;
const IS_HIDDEN: i32 = 1 << 4;
const IS_BYPASS: i32 = 1 << 16;

#[test]
fn both_standards_have_the_same_parameters_with_the_same_texts() {
    let library = library();
    let plugin = Plugin::new(&library).unwrap();
    let params = plugin.params().unwrap();
    let mut clap = crate::host();
    let known = clap.params().to_vec();
    assert_eq!(params.len(), known.len());
    let ids: BTreeSet<_> = params.iter().map(|param| param.id).collect();
    assert_eq!(ids.len(), params.len(), "an id comes twice");
    let bypasses = params.iter().filter(|param| param.flags & IS_BYPASS != 0);
    assert_eq!(bypasses.count(), 1);
    for (param, same) in params.iter().zip(known) {
        let name = &param.name;
        assert_eq!((name, param.id), (&same.name, same.id.get()));
        let hidden = param.flags & IS_HIDDEN != 0;
        assert_ne!(hidden, param.flags & CAN_AUTOMATE != 0, "{name}");
        assert!((0.0..=1.0).contains(&param.default), "{name}");
        let (low, high) = same.range;
        for i in 0..=100 {
            let value = f64::from(i) / 100.0;
            let shown = plugin.show(param.id, value).unwrap();
            let plain = low + (high - low) * value;
            let other = clap.show(same.id, plain).unwrap();
            // Of a choice, CLAP's value may lie between two. VST3 has the unit apart.
            if param.steps == 0 {
                let whole = format!("{shown}{}", param.units);
                assert_eq!(whole, other, "{name} at {value}");
            }
            let read = plugin.parse(param.id, &shown).unwrap();
            assert!((0.0..=1.0).contains(&read), "{name}: {shown:?} is {read}");
            let again = plugin.show(param.id, read).unwrap();
            assert_eq!(again, shown, "{name} at {value}");
            // Values are kept in 32 bits.
            let (_, back) = plugin.plain_and_back(param.id, read);
            assert!((back - read).abs() < 1e-6, "{name}: {read} and {back}");
        }
        for text in [
            "nan",
            "NaN %",
            "inf",
            "-inf dB",
            "1e999",
            "",
            "no such thing",
        ] {
            let read = plugin.parse(param.id, text);
            assert!(read.is_err(), "{name} takes {text:?} as {read:?}");
        }
    }
    let unknown = (0..u32::MAX).find(|id| !ids.contains(id)).unwrap();
    assert!(plugin.show(unknown, 0.5).is_err());
    assert!(plugin.parse(unknown, "1").is_err());
    assert!(plugin.set(unknown, 0.5).is_err());
}

/// A host may send values by a block of no samples, and values that are none.
#[test]
fn values_come_with_a_block_of_no_samples_and_what_is_no_number_is_none() {
    let library = library();
    let plugin = Plugin::new(&library).unwrap();
    let mut processor = plugin.activate(48_000.0, 512).unwrap();
    let at_rest = hosting::host::Transport::AT_REST;
    for param in plugin.params().unwrap() {
        let mut send = |value: f64| {
            let changes = [Change {
                sample: 0,
                param: param.id,
                value,
            }];
            let sent = processor.run(&Block::new(0, at_rest).with(&changes));
            assert_eq!(sent.unwrap().0, [], "{}", param.name);
            plugin.value(param.id)
        };
        assert_eq!(send(1.0), 1.0, "{}", param.name);
        assert_eq!(send(0.0), 0.0, "{}", param.name);
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(send(value), 0.0, "{}: {value}", param.name);
        }
        for value in [-1.0, 2.0, 1e30] {
            let now = send(value);
            assert!((0.0..=1.0).contains(&now), "{}: {value}", param.name);
        }
        let now = send(param.default);
        assert!((now - param.default).abs() < 1e-6, "{}", param.name);
    }
}
