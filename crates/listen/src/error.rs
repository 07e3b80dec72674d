//! What keeps a recording from being read.

use std::fmt;
use std::io;

/// A recording could not be read.
#[non_exhaustive]
#[derive(Debug)]
pub enum Error {
    /// The file could not be opened or read.
    File(io::Error),
    /// It is no sound file of a kind that can be read.
    Kind {
        /// What the reader says of it.
        why: String,
    },
    /// It is damaged.
    Damaged {
        /// What the reader says of it.
        why: String,
        /// Instants read until there.
        read_count: u64,
    },
    /// It has no sound in it.
    Empty,
    /// Its sampling rate is out of range.
    Rate {
        /// Its rate.
        rate_hz: u32,
    },
    /// It has more channels than are looked at.
    Channels {
        /// Its channels.
        count: usize,
    },
}

/// Least and most samples a second that are read.
pub const RATES_HZ: [u32; 2] = [8_000, 192_000];
/// Most channels that are read.
pub const MOST_CHANNELS: usize = 8;

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::File(e) => write!(f, "could not read the file: {e}"),
            Error::Kind { why } => write!(
                f,
                "could not read the sound: {why}; WAV, FLAC, Ogg Vorbis, MP3, M4A (AAC or ALAC), AIFF and CAF can be read"
            ),
            Error::Damaged { why, read_count } => {
                write!(f, "could not read the sound past sample {read_count}: {why}; the file is damaged or cut off")
            }
            Error::Empty => write!(f, "could not find any sound in the file: it has no samples"),
            Error::Rate { rate_hz } => write!(
                f,
                "could not use the sound: {rate_hz} samples a second, allowed are {} to {}",
                RATES_HZ[0], RATES_HZ[1]
            ),
            Error::Channels { count } => {
                write!(f, "could not use the sound: {count} channels, allowed are 1 to {MOST_CHANNELS}")
            }
        }
    }
}

impl std::error::Error for Error {}
