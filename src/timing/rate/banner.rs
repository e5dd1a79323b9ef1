//! Start-up text of a chip, recognised as a trial rate distorts it. It has a rate of its own and says nothing of the
//! link's rate.

use std::collections::BTreeSet;

use super::expectation::RATES;
use super::uart::{AfterError, HeardByte, Mismatch};

/// What such a chip prints at a start (public logs, excerpts).
const START_UP: &[u8] = b"ets Jul 29 2019 12:21:46\r\n\r\nrst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n\
configsip: 0, SPIWP:0xee\r\nclk_drv:0x00,q_drv:0x00,d_drv:0x00,cs0_drv:0x00,hd_drv:0x00,wp_drv:0x00\r\n\
mode:DIO, clock div:2\r\nload:0x3fff0030,len:1344\r\nload:0x40078000,len:13964\r\nload:0x40080400,len:3600\r\n\
entry 0x400805f0\r\n";

/// The rates at which it is printed: 115200, with a 26 MHz crystal 74880 (both from memory).
const PRINTED_AT: [u32; 2] = [115_200, 74_880];

/// Bytes of one run: long enough that an order in the same letters has none of the text's runs.
const RUN: usize = 6;

/// Different runs that a burst must have before it is judged: more than a short order gives.
const ENOUGH: usize = 12;

/// Bytes of the text that must have come at least: no order is as long.
const SHORTEST: usize = 60;

/// Share of them that must be runs of the text, per cent; edges and clock spoil some.
const SHARE: usize = 35;

/// Bytes of one run of the model: more than the whole text becomes at any rate where it is not all zeros.
const MOST: usize = 3000;

/// The distorted text at each trial rate, as its runs of bytes.
#[derive(Clone, Debug)]
pub struct Banners {
    texts: Vec<Distorted>,
}

/// The text as one trial rate makes it.
#[derive(Clone, Debug)]
struct Distorted {
    rate: u32,
    printed: u32,
    /// Fewest bytes that its shortest beginning becomes.
    least: usize,
    runs: BTreeSet<[u8; RUN]>,
}

impl Banners {
    /// Works them out.
    pub fn new() -> Self {
        let pairs = RATES.into_iter().flat_map(|rate| PRINTED_AT.map(|printed| (rate, printed)));
        let distorted = |(rate, printed)| {
            let runs = heard_at(START_UP, rate, printed).iter().flat_map(|bytes| runs_of(bytes)).collect();
            let beginning = START_UP.get(..SHORTEST).unwrap_or(START_UP);
            let least = heard_at(beginning, rate, printed).iter().map(Vec::len).min().unwrap_or(0);
            Distorted { rate, printed, least, runs }
        };
        Self { texts: pairs.map(distorted).collect() }
    }

    /// The rate at which the burst was printed, if it is such a text as `rate` distorts it.
    pub fn printed_at(&self, rate: u32, burst: &[HeardByte]) -> Option<u32> {
        let bytes: Vec<u8> = burst.iter().map(|heard| heard.byte).collect();
        let found: BTreeSet<[u8; RUN]> = runs_of(&bytes).collect();
        if found.len() < ENOUGH {
            return None;
        }
        let here = self.texts.iter().filter(|text| text.rate == rate && text.least <= bytes.len());
        let best = here.map(|text| (found.intersection(&text.runs).count(), text.printed)).max()?;
        (best.0 * 100 >= found.len() * SHARE).then_some(best.1)
    }
}

impl Default for Banners {
    fn default() -> Self {
        Self::new()
    }
}

/// What a receiver at `rate` makes of `text` printed at about `printed` baud, in each way it can.
fn heard_at(text: &[u8], rate: u32, printed: u32) -> Vec<Vec<u8>> {
    let kinds = [AfterError::Waits, AfterError::Restarts];
    let errors = [-0.02, -0.015, -0.01, -0.005, 0.0, 0.005, 0.01, 0.015, 0.02];
    let ways = kinds.into_iter().flat_map(|after| errors.map(|error| (after, error)));
    ways.map(|(after, error)| {
        let sender = f64::from(printed) * (1.0 + error);
        let mismatch = Mismatch { sender, receiver: rate.into(), phase: 0.5, after };
        mismatch.hears(text, MOST).iter().map(|heard| heard.byte).collect()
    })
    .collect()
}

fn runs_of(bytes: &[u8]) -> impl Iterator<Item = [u8; RUN]> + '_ {
    bytes.windows(RUN).filter_map(|run| run.try_into().ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn start_up_text_is_known_at_its_own_rate_and_beside_it() {
        let banners = Banners::new();
        let heard = |text: &[u8], sender: f64, rate: u32| {
            let mismatch = Mismatch { sender, receiver: rate.into(), phase: 0.3, after: AfterError::Waits };
            mismatch.hears(text, 500)
        };
        let text = b"ets Jun  8 2016 00:22:57\r\n\r\nrst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n";
        for rate in [57_600, 74_880, 115_200, 230_400] {
            assert_eq!(banners.printed_at(rate, &heard(text, 115_300.0, rate)), Some(115_200), "{rate}");
        }
        for rate in [57_600, 115_200, 230_400] {
            assert_eq!(banners.printed_at(rate, &heard(b"way,port\nway,rest\npace,180\n", 115_200.0, rate)), None);
        }
    }
}
