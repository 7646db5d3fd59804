//! Who the plugin says it is, and what can be connected to it.

use super::library;
use hosting::vst3::plugin::{Bus, Plugin};
use std::collections::BTreeSet;

#[test]
fn the_factory_of_vst3_names_one_class_in_all_its_interfaces() {
    let library = library();
    let info = library.info().unwrap();
    assert_eq!(info.vendor, "Fourlimb");
    // Unicode: the standard's flag.
    assert_eq!(info.flags, 16);
    assert_eq!(library.class_count(), 1);
    let class = library.class(0).unwrap();
    assert_eq!(&class.id, b"FourlimbDrummer1");
    assert_eq!(class.category, "Audio Module Class");
    assert_eq!(class.name, "Fourlimb");
    assert_eq!(class.sub_categories, "Instrument|Drum");
    assert_eq!(class.version, env!("CARGO_PKG_VERSION"));
    assert!(class.sdk_version.starts_with("VST 3."), "{class:?}");
    assert_eq!(class.cardinality, i32::MAX);
    for index in [-1, 1, i32::MAX, i32::MIN] {
        assert!(library.class(index).is_err(), "class {index}");
    }
    assert!(!library.makes_what_it_does_not_have());
}

#[test]
fn the_descriptor_of_clap_says_the_same() {
    let entry = crate::entry();
    let factory = entry.get_plugin_factory().unwrap();
    let descriptors: Vec<_> = factory.plugin_descriptors().collect();
    let text = |text: Option<&std::ffi::CStr>| text.unwrap().to_str().unwrap().to_owned();
    // The benches' empty plugin may stand behind ours.
    let descriptor = &descriptors[0];
    let ids = descriptors.iter().map(|plugin| text(plugin.id()));
    assert_eq!(ids.collect::<BTreeSet<_>>().len(), descriptors.len());
    assert_eq!(text(descriptor.id()), "org.fourlimb.fourlimb");
    assert_eq!(text(descriptor.name()), "Fourlimb");
    assert_eq!(text(descriptor.vendor()), "Fourlimb");
    assert_eq!(text(descriptor.version()), env!("CARGO_PKG_VERSION"));
    let features: Vec<_> = descriptor.features().map(|word| text(Some(word))).collect();
    assert_eq!(features, ["instrument", "note-effect", "drum", "stereo"]);
}

#[test]
fn the_buses_are_a_side_chain_a_stereo_output_and_notes_both_ways() {
    let library = library();
    let plugin = Plugin::new(&library).unwrap();
    let buses = |is_event, is_output| plugin.buses(is_event, is_output).unwrap();
    let bus = |name: &str, channels, kind| Bus {
        name: name.into(),
        channels,
        kind,
        // Active by default.
        flags: 1,
    };
    assert_eq!(buses(false, false), [bus("Guitar", 2, 1)]);
    assert_eq!(buses(false, true), [bus("Output", 2, 0)]);
    assert_eq!(buses(true, false), [bus("Note Input", 16, 0)]);
    assert_eq!(buses(true, true), [bus("Note Output", 16, 0)]);
}
