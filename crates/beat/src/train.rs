//! Beats, one after the other, each with the instants at which its shocks came.

/// An instant and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timed {
    /// Since the beginning of the train.
    pub t_s: f64,
    /// Standard error; 0 where a model gave it.
    pub sigma_s: f64,
}

/// The two kinds of beats, which follow one another. Which of them belongs to the entry pallet no recording tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Beats of even number.
    A,
    /// Beats of odd number.
    B,
}

impl Side {
    /// Both, in order.
    pub const BOTH: [Side; 2] = [Side::A, Side::B];

    /// That of the beat with this number.
    pub fn of(number: u64) -> Side {
        if number.is_multiple_of(2) { Side::A } else { Side::B }
    }
}

/// The five shocks of a beat, in the usual order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Shock {
    /// The jewel meets the notch.
    Unlocking,
    /// The tooth meets the impulse face.
    Impulse,
    /// The notch catches the jewel.
    Catch,
    /// The next tooth drops on the other stone.
    Drop,
    /// The lever meets its banking.
    Banking,
}

impl Shock {
    /// Every shock, in order.
    pub const ALL: [Shock; 5] = [Shock::Unlocking, Shock::Impulse, Shock::Catch, Shock::Drop, Shock::Banking];
}

/// One beat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beat {
    /// Its number; a beat that was not heard leaves its number out.
    pub number: u64,
    /// Its side: that of its number, [`Side::of`].
    pub side: Side,
    /// Instants of its shocks, in the order of [`Shock::ALL`]; `None` where one did not come or was not heard.
    pub shocks: [Option<Timed>; Shock::ALL.len()],
    /// Amplitude to which the balance swings out of it, where a model knows it.
    pub amplitude_rad: Option<f64>,
}

impl Beat {
    /// A beat of which nothing is known yet.
    pub fn new(number: u64, side: Side) -> Beat {
        Beat { number, side, shocks: [None; Shock::ALL.len()], amplitude_rad: None }
    }

    /// The same with the instant of a shock.
    pub fn with(mut self, shock: Shock, at: Option<Timed>) -> Beat {
        self.shocks[shock as usize] = at;
        self
    }

    /// When a shock came.
    pub fn at(&self, shock: Shock) -> Option<Timed> {
        self.shocks[shock as usize]
    }
}

/// Beats in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BeatTrain {
    /// In the order of their numbers.
    pub beats: Vec<Beat>,
    /// The side of the entry pallet, where it is known.
    pub entry: Option<Side>,
}
