//! A new movement file builds, whatever number of teeth and size it is written for.
#![allow(clippy::unwrap_used)]

use movement::{Diagnostic, ParamKind as K};
use parts::build;

#[test]
fn every_new_file_builds() {
    let (teeth, radius) = (K::WheelToothCount.param(), K::WheelLockingRadius.param());
    for teeth in teeth.min as u32..=teeth.max as u32 {
        for radius_mm in [radius.min, 0.25, 0.5, 1.0, 2.5, 10.0, 50.0, radius.max] {
            let reading = movement::read("new.toml", &movement::template("new", teeth, radius_mm));
            assert_eq!(reading.diagnostics, []);
            let faults: Vec<Diagnostic> = build(&reading.statement.values).err().unwrap_or_default();
            assert_eq!(faults, [], "{teeth} teeth, {radius_mm} mm");
        }
    }
}
