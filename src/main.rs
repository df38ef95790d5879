use baytally::rules;
fn main() {
    let scripts = std::sync::Arc::new(rules::scripts(None).unwrap());
    for a in std::env::args().skip(1) {
        match rules::calculate(&a, scripts.clone(), rules::Bounds::default()) {
            Ok(v) => println!("{v}"),
            Err(f) => for f in f { println!("{f}") },
        }
    }
}
