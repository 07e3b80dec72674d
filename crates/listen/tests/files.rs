//! Files of sound, whole and broken.

use std::io::Cursor;

use listen::{Error, Recording};

/// A WAV file of whole numbers, or of floating point where `float`: IBM and Microsoft, Multimedia Programming Interface and
/// Data Specifications 1.0, 1991 (from memory).
fn wav(rate_hz: u32, channels: u16, bits: u16, float: bool, instants: &[Vec<f64>]) -> Vec<u8> {
    let each = u32::from(channels) * u32::from(bits / 8);
    let mut data = Vec::new();
    for instant in instants {
        for x in instant {
            match (float, bits) {
                (true, _) => data.extend((*x as f32).to_le_bytes()),
                (_, 8) => data.push((x * 127.0 + 128.0) as u8),
                (_, bits) => {
                    let value = (x * f64::from((1_u32 << (bits - 1)) - 1)) as i32;
                    data.extend(&value.to_le_bytes()[..usize::from(bits / 8)]);
                }
            }
        }
    }
    let mut out = b"RIFF".to_vec();
    out.extend((36 + data.len() as u32).to_le_bytes());
    out.extend(b"WAVEfmt ");
    out.extend(16_u32.to_le_bytes());
    out.extend((if float { 3_u16 } else { 1 }).to_le_bytes());
    out.extend(channels.to_le_bytes());
    out.extend(rate_hz.to_le_bytes());
    out.extend((rate_hz * each).to_le_bytes());
    out.extend((each as u16).to_le_bytes());
    out.extend(bits.to_le_bytes());
    out.extend(b"data");
    out.extend((data.len() as u32).to_le_bytes());
    out.extend(data);
    out
}

fn read(file: Vec<u8>) -> Result<(u32, Vec<Vec<f32>>), Error> {
    let mut recording = Recording::open(Box::new(Cursor::new(file)), None)?;
    let mut out = vec![Vec::new(); recording.channels()];
    while recording.read_on(&mut out)? {}
    Ok((recording.rate_hz(), out))
}

#[test]
fn every_sample_of_every_kind_is_read() {
    let instants: Vec<Vec<f64>> = (0..5_000).map(|i| vec![(0.01 * f64::from(i)).sin() * 0.9, -0.5]).collect();
    // Two steps of whole numbers, or what single precision leaves.
    for (bits, float, least) in
        [(8, false, 0.016), (16, false, 6.2e-5), (24, false, 3e-7), (32, false, 1.2e-7), (32, true, 1e-7)]
    {
        for rate_hz in [8_000, 44_100, 192_000] {
            let (rate, sound) = read(wav(rate_hz, 2, bits, float, &instants)).expect("it is whole");
            assert_eq!((rate, sound.len(), sound[0].len()), (rate_hz, 2, instants.len()));
            for (i, instant) in instants.iter().enumerate() {
                for (channel, x) in instant.iter().enumerate() {
                    assert!((f64::from(sound[channel][i]) - x).abs() <= least, "{bits} {float} {i}");
                }
            }
        }
    }
}

#[test]
fn what_cannot_be_used_says_why() {
    let one =
        |rate_hz, channels: u16| wav(rate_hz, channels, 16, false, &vec![vec![0.1; usize::from(channels)]; 2_000]);
    assert!(matches!(read(one(4_000, 1)), Err(Error::Rate { rate_hz: 4_000 })));
    assert!(matches!(read(one(384_000, 1)), Err(Error::Rate { rate_hz: 384_000 })));
    assert!(matches!(read(wav(48_000, 1, 16, false, &[])), Err(Error::Empty | Error::Kind { .. })));
    for text in [&b""[..], b"hello", b"RIFF\0\0\0\0WAVE", b"OggS", b"fLaC", &[0xff; 4_000]] {
        let told = read(text.to_vec()).err().map(|e| e.to_string());
        assert!(told.as_ref().is_some_and(|t| t.starts_with("could not")), "{text:?}: {told:?}");
    }
}

/// A file that was cut off is read as far as it goes.
#[test]
fn a_file_cut_off_is_read_as_far_as_it_goes() {
    let whole = wav(48_000, 1, 16, false, &vec![vec![0.25]; 20_000]);
    let (_, sound) = read(whole[..whole.len() / 2].to_vec()).expect("the first half");
    assert!(sound[0].len() > 9_000 && sound[0].iter().all(|x| (x - 0.25).abs() < 1e-3), "{}", sound[0].len());
}
