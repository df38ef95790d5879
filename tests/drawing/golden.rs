//! Two levels made by hand against their drawings, which were looked at;
//! `ACCEPT=1 cargo test golden` writes what is drawn now.

use std::fs;
use std::path::Path;

use super::levels::{drawn, floor, roof};

#[test]
fn drawings_are_as_they_were() {
    let mut compared = 0;
    for (name, level) in [("floor", floor()), ("roof", roof())] {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/drawing/golden/{name}.svg"));
        let now = drawn(&level);
        if std::env::var_os("ACCEPT").is_some() {
            fs::write(&path, &now).unwrap();
        }
        let then = fs::read_to_string(&path).unwrap();
        let differs =
            now.lines().zip(then.lines()).enumerate().find(|(_, (now, then))| now != then);
        if let Some((line, (now, then))) = differs {
            panic!("{name}.svg, line {}:\n  then {then}\n  now  {now}", line + 1);
        }
        assert_eq!(now.len(), then.len(), "{name}.svg");
        compared += 1;
    }
    assert_eq!(compared, 2);
}

#[test]
fn the_same_level_gives_the_same_bytes() {
    let level = floor();
    let first = drawn(&level);
    let others: Vec<String> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(|| drawn(&level))).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    assert!(others.iter().all(|other| *other == first));
}

#[cfg(feature = "plans")]
#[test]
fn the_same_picture_gives_the_same_image() {
    use baytally::drawing::{draw, png};
    let picture = draw(&floor());
    let first = png(&picture, 100).unwrap();
    assert_eq!(png(&picture, 100).unwrap(), first);
    // The signature, then the size: 470 x 446 points at 100 dots an inch.
    assert_eq!(&first[..8], b"\x89PNG\r\n\x1a\n");
    let number = |at: usize| u32::from_be_bytes(first[at..at + 4].try_into().unwrap());
    let dots = |points: f64| (points * 100.0 / 72.0).round();
    assert_eq!(f64::from(number(16)), dots(picture.width));
    assert_eq!(f64::from(number(20)), dots(picture.height));
}

#[cfg(feature = "plans")]
#[test]
fn no_image_of_nothing_or_of_a_field() {
    use baytally::drawing::png;
    use baytally::picture::Picture;
    let page = |width, height| Picture { width, height, marks: Vec::new() };
    for picture in [page(0.0, 10.0), page(f64::NAN, 10.0), page(1e9, 10.0), page(-5.0, 5.0)] {
        assert!(png(&picture, 200).is_none(), "{picture:?}");
    }
    assert!(png(&page(10.0, 10.0), 0).is_none());
    assert!(png(&page(10.0, 10.0), u32::MAX).is_none());
}
