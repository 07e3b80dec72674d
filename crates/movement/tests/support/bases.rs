//! Valid movement files to be damaged and rewritten.
#![allow(dead_code)] // each test file uses a part of it

use movement::template;

/// Files in every form that TOML has for the same thing, all of them valid.
pub const BASES: [&str; 6] = [
    // Tables.
    "# one\nformat = 1 # two\nname = \"a\"\n\n# three\n[wheel] # four\ntooth_count = 15 # five\n  locking_radius_mm = 4.0\n\n[pallets]\n# six\nlock_deg = 1.50 # seven\ndraw_deg=12\n\n[pallets.entry]\nlift_deg = 8 # eight\n[pallets.exit]\nlift_deg = 8.5\n\n# nine\n[guard]\nform = \"dart\" # ten\n\n[wheel.teeth.3]\nlonger_mm = 0.01 # eleven\n# twelve\n",
    // Dotted keys at the top.
    "format = 1\nname = \"a\" # one\nwheel.tooth_count = 15\nwheel.locking_radius_mm = 4 # two\npallets.lock_deg = 1.5\npallets.exit.lock_deg = 1.25 # three\n# four\nguard.form = 'pin'\n",
    // Dotted keys under tables, and no line feed at the end.
    "format = 1\nname = \"a\"\n[wheel]\ntooth_count = 15\nlocking_radius_mm = 4\nteeth.3.bent_deg = 0.1 # one\n[pallets]\nentry.lock_deg = 1.5 # two\nentry.draw_deg = 12\nexit.lock_deg = 1.5\n[bankings] # three\nrun_deg = 0.25 # four",
    // Inline tables.
    "format = 1\nname = \"a\"\nwheel = { tooth_count = 15, locking_radius_mm = 4, teeth = { 3 = { longer_mm = 0.01 } } } # one\npallets = { lock_deg = 1.5, entry = { draw_deg = 12 } } # two\n# three\n[fork]\nratio_of_radii = 3 # four\n",
    // Carriage returns and a byte order mark.
    "\u{feff}# one\r\nformat = 1\r\nname = \"a\"\r\n\r\n[wheel]\r\ntooth_count = 15 # two\r\nlocking_radius_mm = 4.0\r\n[pallets]\r\nlock_deg = 1.5\r\n",
    // A comment over a key, and behind each.
    "# head\nformat = 1 # f\nname = \"a\"\n\n[wheel] # w\ntooth_count = 15 # n\nlocking_radius_mm = 4.0\n[pallets]\n# over the lock\nlock_deg = 1.5 # both\nexit.draw_deg = 12.0 # exit\n# end\n",
];

/// Every kind of statement in one file.
pub const WHOLE: &str = "# a movement file with every kind of statement
format = 1
name = \"mutated\"
notes = '''
two
lines'''
kind = \"club\"

[wheel]
tooth_count = 15           # whole
locking_radius_mm = 4.0
front_lean_deg = -0.0
tooth_lift_read_on = \"entry\"
teeth.3.bent_deg = -1.5e-1

[wheel.teeth.4]
longer_mm = 0.02

[pallets]
lock_deg = 1.5             # both
exit.lock_deg = 1.25
spaces_spanned = 2.5

[pallets.entry]
lift_deg = 8.5
stone_out_mm = +0.01

[bankings]
entry = { run_deg = 0.25, open_mm = 0.0 }
form = \"walls\"
";

/// All of them, and the template.
pub fn bases() -> Vec<String> {
    BASES.into_iter().chain([WHOLE]).map(str::to_owned).chain([template("a", 15, 4.0)]).collect()
}
