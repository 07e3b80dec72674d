//! A recording, read piece by piece: its samples as they were taken, never resampled.

use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error as Fault;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::meta::MetadataOptions;

use crate::error::{Error, MOST_CHANNELS, RATES_HZ};

/// Packets in a row that may be unreadable before a recording counts as damaged.
const MOST_UNREADABLE: usize = 16;

/// A recording that is being read.
pub struct Recording {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track_id: u32,
    rate_hz: u32,
    channels: usize,
    read_count: u64,
    unreadable_count: u64,
    /// Instants of a packet, channels side by side.
    packet: Vec<f32>,
    ended: bool,
}

impl Recording {
    /// Reads from a source that can be gone back in. `extension`: that of its name, which helps where its beginning does not
    /// say what it is.
    ///
    /// # Errors
    /// [`Error`], where it is no sound that can be read.
    pub fn open(source: Box<dyn MediaSource>, extension: Option<&str>) -> Result<Recording, Error> {
        let mut hint = Hint::new();
        if let Some(extension) = extension {
            hint.with_extension(extension);
        }
        Recording::begin(source, &hint)
    }

    fn begin(source: Box<dyn MediaSource>, hint: &Hint) -> Result<Recording, Error> {
        let kind = |why: Fault| match why {
            Fault::IoError(e) if e.kind() != std::io::ErrorKind::UnexpectedEof => Error::File(e),
            why => Error::Kind { why: why.to_string() },
        };
        let stream = MediaSourceStream::new(source, Default::default());
        let format = symphonia::default::get_probe()
            .probe(hint, stream, FormatOptions::default(), MetadataOptions::default())
            .map_err(kind)?;
        let none = || Error::Kind { why: "no track of sound in it".to_owned() };
        let track = format.default_track(TrackType::Audio).ok_or_else(none)?;
        let params = track.codec_params.as_ref().and_then(|p| p.audio()).ok_or_else(none)?;
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(params, &AudioDecoderOptions::default())
            .map_err(kind)?;
        let track_id = track.id;
        let mut recording = Recording {
            format,
            decoder,
            track_id,
            rate_hz: 0,
            channels: 0,
            read_count: 0,
            unreadable_count: 0,
            packet: Vec::new(),
            ended: false,
        };
        // Rate and channels are those of what is decoded: what the file says of itself may be missing or wrong.
        if !recording.packet()? {
            return Err(Error::Empty);
        }
        Ok(recording)
    }

    /// Samples a second.
    pub fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Channels.
    pub fn channels(&self) -> usize {
        self.channels
    }

    /// Packets that could not be read; their time is missing from the recording.
    pub fn unreadable_count(&self) -> u64 {
        self.unreadable_count
    }

    /// Adds the next samples of every channel to a list of its own; `false` at the end.
    ///
    /// # Errors
    /// [`Error`], where the recording is damaged from here on.
    pub fn read_on(&mut self, out: &mut [Vec<f32>]) -> Result<bool, Error> {
        if self.packet.is_empty() && !self.packet()? {
            return Ok(false);
        }
        // What is not a number is silence.
        let finite = |x: f32| if x.is_finite() { x } else { 0.0 };
        match out {
            [one] => one.extend(self.packet.iter().map(|&x| finite(x))),
            all => {
                for (channel, out) in all.iter_mut().enumerate() {
                    out.extend(self.packet.chunks_exact(self.channels).map(|frame| finite(frame[channel])));
                }
            }
        }
        self.read_count += (self.packet.len() / self.channels) as u64;
        self.packet.clear();
        Ok(true)
    }

    /// Decodes the next packet that has samples; `false` at the end.
    fn packet(&mut self) -> Result<bool, Error> {
        let mut failed = 0;
        while !self.ended {
            let packet = match self.format.next_packet() {
                Ok(Some(packet)) => packet,
                Ok(None) | Err(Fault::ResetRequired) => break,
                Err(Fault::IoError(e)) if e.kind() == std::io::ErrorKind::UnexpectedEof => break,
                Err(why) => return Err(self.damaged(&why)),
            };
            if packet.track_id != self.track_id {
                continue;
            }
            match self.decoder.decode(&packet) {
                Ok(sound) => {
                    let (rate_hz, channels) = (sound.spec().rate(), sound.spec().channels().count());
                    if !(RATES_HZ[0]..=RATES_HZ[1]).contains(&rate_hz) {
                        return Err(Error::Rate { rate_hz });
                    }
                    if !(1..=MOST_CHANNELS).contains(&channels) {
                        return Err(Error::Channels { count: channels });
                    }
                    if self.rate_hz != 0 && (self.rate_hz, self.channels) != (rate_hz, channels) {
                        return Err(Error::Damaged {
                            why: "rate or channels change on the way".to_owned(),
                            read_count: self.read_count,
                        });
                    }
                    (self.rate_hz, self.channels) = (rate_hz, channels);
                    sound.copy_to_vec_interleaved(&mut self.packet);
                    if !self.packet.is_empty() {
                        return Ok(true);
                    }
                }
                Err(why @ (Fault::DecodeError(_) | Fault::LimitError(_))) => {
                    failed += 1;
                    self.unreadable_count += 1;
                    if failed > MOST_UNREADABLE {
                        return Err(self.damaged(&why));
                    }
                }
                Err(why) => return Err(self.damaged(&why)),
            }
        }
        self.ended = true;
        Ok(false)
    }

    fn damaged(&self, why: &Fault) -> Error {
        match (self.read_count, self.rate_hz) {
            (0, 0) => Error::Kind { why: why.to_string() },
            (read_count, _) => Error::Damaged { why: why.to_string(), read_count },
        }
    }
}
