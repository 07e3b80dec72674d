//! Any bytes read as a movement file give diagnostics or a statement of finite values, and rendering never panics.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let reading = movement::read_bytes("fuzzed.toml", bytes);
    assert!(reading.diagnostics.len() <= movement::MAX_DIAGNOSTICS + 1);
    movement::render(&reading.diagnostics, &reading.statement, false);
    if !reading.has_errors() {
        for (id, si) in reading.statement.values.iter() {
            assert!(si.is_finite(), "{id} = {si}");
            assert!(reading.statement.place(id).is_some(), "{id} has a value that is stated nowhere");
        }
        assert!(reading.statement.missing().is_empty());
    }
});
