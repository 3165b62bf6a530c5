//! Documents with a few bytes altered: they are refused, or what they give is a definition without errors.

use std::io::{Cursor, Read, Write};
use std::path::Path;

use asfound_core::definition::Definition;
use asfound_odx::{Converter, Limits, Package};
use proptest::prelude::*;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// The documents of the test packages.
fn documents() -> Vec<Vec<u8>> {
    let mut documents = Vec::new();
    for name in ["aviary.pdx", "heron.pdx"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
        let mut archive = ZipArchive::new(Cursor::new(std::fs::read(path).expect("the test package is whole")))
            .expect("the test package is whole");
        for at in 0..archive.len() {
            let mut file = archive.by_index(at).expect("the test package is whole");
            if !file.name().is_ok_and(|name| name.ends_with(".odx-d")) {
                continue;
            }
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).expect("the test package is whole");
            // Both packages have a container `Shared`, and the second has its own containers.
            let text = String::from_utf8(bytes).expect("the test package is whole");
            let text = if name == "heron.pdx" {
                text.replace("\"Shared\"", "\"HeronShared\"")
                    .replace("<SHORT-NAME>Shared<", "<SHORT-NAME>HeronShared<")
                    .replace("\"Body\"", "\"HeronBodies\"")
                    .replace("<SHORT-NAME>Body<", "<SHORT-NAME>HeronBodies<")
            } else {
                text
            };
            documents.push(text.into_bytes());
        }
    }
    documents
}

/// Whether every layer that can be taken over gives a sound definition; how many did.
fn examine(documents: &[Vec<u8>]) -> usize {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (at, bytes) in documents.iter().enumerate() {
        writer.start_file(format!("{at}.odx-d"), stored).expect("the test package is whole");
        writer.write_all(bytes).expect("the test package is whole");
    }
    let bytes = writer.finish().expect("the test package is whole").into_inner();
    let Ok(package) = Package::from_bytes(&bytes, "altered.pdx", Limits::default()) else { return 0 };
    let converter = Converter::new(&package);
    let mut sound = 0;
    for layer in 0..converter.names().len() {
        let _ = converter.summary(layer);
        let Ok(taken) = converter.take_over(layer, None) else { continue };
        let Some(text) = taken.definition else { continue };
        if let Err(problems) = Definition::parse(&text) {
            panic!("{problems:?}\n{text}");
        }
        sound += 1;
    }
    sound
}

#[test]
fn unaltered_documents_give_a_definition_of_every_layer_with_records() {
    assert_eq!(examine(&documents()), 7);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn altered_documents_are_refused_or_give_sound_definitions(
        which in 0_usize..3,
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0_u8..4, any::<u8>()), 1..12),
    ) {
        let mut documents = documents();
        let bytes = &mut documents[which];
        for (at, how, with) in changes {
            let at = at.index(bytes.len());
            // Digits and letters keep most documents well-formed, so that what is in them is reached.
            match how {
                0 => bytes[at] = b'0' + with % 10,
                1 => bytes[at] = with,
                2 => bytes.insert(at, b'0' + with % 10),
                _ => { bytes.remove(at); }
            }
        }
        examine(&documents);
    }

    #[test]
    fn altered_numbers_give_sound_definitions(
        seed in any::<u64>(),
        count in 1_usize..40,
    ) {
        let mut documents = documents();
        let bytes = &mut documents[usize::try_from(seed % 5).expect("five documents")];
        let digits: Vec<usize> = bytes.iter().enumerate().filter(|(_, byte)| byte.is_ascii_digit()).map(|(at, _)| at).collect();
        let mut state = seed;
        for _ in 0..count {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let at = digits[usize::try_from(state >> 33).expect("the test package is whole") % digits.len()];
            bytes[at] = b'0' + u8::try_from((state >> 20) % 10).expect("the test package is whole");
        }
        examine(&documents);
    }
}
