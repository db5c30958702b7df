//! Small sound files with bytes changed, dropped, doubled and exchanged: whatever comes of it, reading ends, soon and without a panic.
//!
//! `open` catches panics; here a caught one shows as `OpenError::Fault`, and is a failure. `EVENHAND_MUTATIONS` asks for more rounds.

use std::path::Path;
use std::time::{Duration, Instant};

use evenhand::logbook::open::{Limits, OpenError, open};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

fn below(random: &mut ChaCha8Rng, end: usize) -> usize {
    usize::try_from(random.next_u64() % u64::try_from(end.max(1)).unwrap()).unwrap()
}

fn mutate(bytes: &mut Vec<u8>, random: &mut ChaCha8Rng) {
    for _ in 0..=below(random, 4) {
        if bytes.is_empty() {
            return;
        }
        let at = below(random, bytes.len());
        let length = below(random, 16).min(bytes.len() - at);
        match below(random, 7) {
            0 => bytes[at] ^= 1 << below(random, 8),
            1 => bytes[at] = [0, 0xff, b'9', b'<', b'"', b'&', b';', b','][below(random, 8)],
            2 => bytes.truncate(at),
            3 => {
                bytes.drain(at..at + length);
            }
            4 => {
                let piece = bytes[at..at + length].to_vec();
                bytes.splice(at..at, piece);
            }
            5 => {
                let other = below(random, bytes.len());
                bytes.swap(at, other);
            }
            _ => {
                for byte in &mut bytes[at..at + length] {
                    *byte = 0xff;
                }
            }
        }
    }
}

/// A packed file with its parts changed rather than its packing: else the checksums would stop nearly every change at the door.
fn mutate_parts(bytes: &[u8], random: &mut ChaCha8Rng) -> Option<Vec<u8>> {
    use std::io::Read;
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).ok()?;
    let chosen = below(random, archive.len());
    let mut parts = Vec::new();
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).ok()?;
        let mut content = Vec::new();
        file.read_to_end(&mut content).ok()?;
        let name = file.name().ok()?.into_owned();
        if index == chosen || name.contains("sheet1") {
            mutate(&mut content, random);
        }
        parts.push((name, content));
    }
    let parts: Vec<(&str, &[u8])> = parts
        .iter()
        .map(|(name, content)| (&**name, &**content))
        .collect();
    Some(super::package::zipped(&parts))
}

fn check(bytes: &[u8], name: &str, round: u64) {
    let limits = Limits {
        seconds: 30,
        ..Limits::default()
    };
    let start = Instant::now();
    let result = open(bytes, name, &limits);
    assert!(
        start.elapsed() < Duration::from_secs(60),
        "{name}, round {round}: too slow"
    );
    assert_ne!(
        result.map(|_| ()),
        Err(OpenError::Fault),
        "{name}, round {round}"
    );
}

#[test]
fn changed_bytes_never_panic() {
    let rounds = std::env::var("EVENHAND_MUTATIONS")
        .ok()
        .and_then(|rounds| rounds.parse().ok())
        .unwrap_or(150_u64);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/awkward");
    let names = [
        "by-libreoffice.xlsx",
        "by-libreoffice.ods",
        "binary.xlsb",
        "excel-97-by-libreoffice.xls",
        "excel-95.xls",
        "flat.fods",
        "stray-quotes.csv",
        "utf-16-without-mark.csv",
        "mac-roman.csv",
    ];
    for name in names {
        let sound = std::fs::read(folder.join(name)).unwrap();
        for round in 0..rounds {
            let mut random = ChaCha8Rng::seed_from_u64(round);
            let mut bytes = sound.clone();
            mutate(&mut bytes, &mut random);
            check(&bytes, name, round);
            if let Some(bytes) = mutate_parts(&sound, &mut random) {
                check(&bytes, name, round);
            }
        }
    }
}
