//! Catalogued checks. Each row says how it is known; "recalled" is from memory and stays so marked.

/// One catalogued check.
pub struct Row {
    pub name: &'static str,
    /// Width, polynomial, start, reflected in, reflected out, final exclusive-or.
    pub parameters: (u8, u32, u32, bool, bool, u32),
    /// Value over the nine bytes `123456789`, over one zero byte, over nothing.
    pub values: [u32; 3],
    /// How parameters and first value are known; the other two were worked out by separate code.
    pub known: &'static str,
    /// The same from the `crc` crate's catalogue.
    pub catalogue: fn(&[u8]) -> u32,
}

/// From the catalogue of the `crc` crate.
macro_rules! catalogue {
    ($sort:ty, $name:ident) => {
        |bytes| u32::from(crc::Crc::<$sort>::new(&crc::$name).checksum(bytes))
    };
}

/// Each row as its source gives it.
pub const ROWS: [Row; 37] = [
    Row {
        name: "CRC-8/SMBUS",
        parameters: (8, 0x7, 0x0, false, false, 0x0),
        values: [0xF4, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_SMBUS),
    },
    Row {
        name: "CRC-8/MAXIM-DOW",
        parameters: (8, 0x31, 0x0, true, true, 0x0),
        values: [0xA1, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_MAXIM_DOW),
    },
    Row {
        name: "CRC-8/ROHC",
        parameters: (8, 0x7, 0xFF, true, true, 0x0),
        values: [0xD0, 0xCF, 0xFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_ROHC),
    },
    Row {
        name: "CRC-8/DVB-S2",
        parameters: (8, 0xD5, 0x0, false, false, 0x0),
        values: [0xBC, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_DVB_S2),
    },
    Row {
        name: "CRC-8/SAE-J1850",
        parameters: (8, 0x1D, 0xFF, false, false, 0xFF),
        values: [0x4B, 0x3B, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_SAE_J1850),
    },
    Row {
        name: "CRC-8/AUTOSAR",
        parameters: (8, 0x2F, 0xFF, false, false, 0xFF),
        values: [0xDF, 0xBD, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_AUTOSAR),
    },
    Row {
        name: "CRC-8/I-432-1",
        parameters: (8, 0x7, 0x0, false, false, 0x55),
        values: [0xA1, 0x55, 0x55],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_I_432_1),
    },
    Row {
        name: "CRC-8/NRSC-5",
        parameters: (8, 0x31, 0xFF, false, false, 0x0),
        values: [0xF7, 0xAC, 0xFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_NRSC_5),
    },
    Row {
        name: "CRC-8/CDMA2000",
        parameters: (8, 0x9B, 0xFF, false, false, 0x0),
        values: [0xDA, 0x7B, 0xFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_CDMA2000),
    },
    Row {
        name: "CRC-8/DARC",
        parameters: (8, 0x39, 0x0, true, true, 0x0),
        values: [0x15, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u8, CRC_8_DARC),
    },
    Row {
        name: "CRC-16/ARC",
        parameters: (16, 0x8005, 0x0, true, true, 0x0),
        values: [0xBB3D, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_ARC),
    },
    Row {
        name: "CRC-16/MODBUS",
        parameters: (16, 0x8005, 0xFFFF, true, true, 0x0),
        values: [0x4B37, 0x40BF, 0xFFFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_MODBUS),
    },
    Row {
        name: "CRC-16/USB",
        parameters: (16, 0x8005, 0xFFFF, true, true, 0xFFFF),
        values: [0xB4C8, 0xBF40, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_USB),
    },
    Row {
        name: "CRC-16/MAXIM-DOW",
        parameters: (16, 0x8005, 0x0, true, true, 0xFFFF),
        values: [0x44C2, 0xFFFF, 0xFFFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_MAXIM_DOW),
    },
    Row {
        name: "CRC-16/UMTS",
        parameters: (16, 0x8005, 0x0, false, false, 0x0),
        values: [0xFEE8, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_UMTS),
    },
    Row {
        name: "CRC-16/IBM-3740",
        parameters: (16, 0x1021, 0xFFFF, false, false, 0x0),
        values: [0x29B1, 0xE1F0, 0xFFFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_IBM_3740),
    },
    Row {
        name: "CRC-16/XMODEM",
        parameters: (16, 0x1021, 0x0, false, false, 0x0),
        values: [0x31C3, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_XMODEM),
    },
    Row {
        name: "CRC-16/KERMIT",
        parameters: (16, 0x1021, 0x0, true, true, 0x0),
        values: [0x2189, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_KERMIT),
    },
    Row {
        name: "CRC-16/IBM-SDLC",
        parameters: (16, 0x1021, 0xFFFF, true, true, 0xFFFF),
        values: [0x906E, 0xF078, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_IBM_SDLC),
    },
    Row {
        name: "CRC-16/MCRF4XX",
        parameters: (16, 0x1021, 0xFFFF, true, true, 0x0),
        values: [0x6F91, 0xF87, 0xFFFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_MCRF4XX),
    },
    Row {
        name: "CRC-16/GENIBUS",
        parameters: (16, 0x1021, 0xFFFF, false, false, 0xFFFF),
        values: [0xD64E, 0x1E0F, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_GENIBUS),
    },
    Row {
        name: "CRC-16/SPI-FUJITSU",
        parameters: (16, 0x1021, 0x1D0F, false, false, 0x0),
        values: [0xE5CC, 0xCC9C, 0x1D0F],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_SPI_FUJITSU),
    },
    Row {
        name: "CRC-16/DNP",
        parameters: (16, 0x3D65, 0x0, true, true, 0xFFFF),
        values: [0xEA82, 0xFFFF, 0xFFFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_DNP),
    },
    Row {
        name: "CRC-16/EN-13757",
        parameters: (16, 0x3D65, 0x0, false, false, 0xFFFF),
        values: [0xC2B7, 0xFFFF, 0xFFFF],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_EN_13757),
    },
    Row {
        name: "CRC-16/DECT-X",
        parameters: (16, 0x589, 0x0, false, false, 0x0),
        values: [0x7F, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_DECT_X),
    },
    Row {
        name: "CRC-16/T10-DIF",
        parameters: (16, 0x8BB7, 0x0, false, false, 0x0),
        values: [0xD0DB, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u16, CRC_16_T10_DIF),
    },
    Row {
        name: "CRC-24/OPENPGP",
        parameters: (24, 0x864CFB, 0xB704CE, false, false, 0x0),
        values: [0x21CF02, 0x6169D3, 0xB704CE],
        known: "read (header excerpt)",
        catalogue: catalogue!(u32, CRC_24_OPENPGP),
    },
    Row {
        name: "CRC-32/ISO-HDLC",
        parameters: (32, 0x4C11DB7, 0xFFFFFFFF, true, true, 0xFFFFFFFF),
        values: [0xCBF43926, 0xD202EF8D, 0x0],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_ISO_HDLC),
    },
    Row {
        name: "CRC-32/ISCSI",
        parameters: (32, 0x1EDC6F41, 0xFFFFFFFF, true, true, 0xFFFFFFFF),
        values: [0xE3069283, 0x527D5351, 0x0],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_ISCSI),
    },
    Row {
        name: "CRC-32/BZIP2",
        parameters: (32, 0x4C11DB7, 0xFFFFFFFF, false, false, 0xFFFFFFFF),
        values: [0xFC891918, 0xB1F7404B, 0x0],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_BZIP2),
    },
    Row {
        name: "CRC-32/MPEG-2",
        parameters: (32, 0x4C11DB7, 0xFFFFFFFF, false, false, 0x0),
        values: [0x376E6E7, 0x4E08BFB4, 0xFFFFFFFF],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_MPEG_2),
    },
    Row {
        name: "CRC-32/JAMCRC",
        parameters: (32, 0x4C11DB7, 0xFFFFFFFF, true, true, 0x0),
        values: [0x340BC6D9, 0x2DFD1072, 0xFFFFFFFF],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_JAMCRC),
    },
    Row {
        name: "CRC-32/CKSUM",
        parameters: (32, 0x4C11DB7, 0x0, false, false, 0xFFFFFFFF),
        values: [0x765E7680, 0xFFFFFFFF, 0xFFFFFFFF],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_CKSUM),
    },
    Row {
        name: "CRC-32/BASE91-D",
        parameters: (32, 0xA833982B, 0xFFFFFFFF, true, true, 0xFFFFFFFF),
        values: [0x87315576, 0x7E5A3823, 0x0],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_BASE91_D),
    },
    Row {
        name: "CRC-32/AUTOSAR",
        parameters: (32, 0xF4ACFB13, 0xFFFFFFFF, true, true, 0xFFFFFFFF),
        values: [0x1697D06A, 0x6016DC99, 0x0],
        known: "read params; check recalled",
        catalogue: catalogue!(u32, CRC_32_AUTOSAR),
    },
    Row {
        name: "CRC-32/AIXM",
        parameters: (32, 0x814141AB, 0x0, false, false, 0x0),
        values: [0x3010BF7F, 0x0, 0x0],
        known: "read (header excerpt)",
        catalogue: catalogue!(u32, CRC_32_AIXM),
    },
    Row {
        name: "CRC-32/XFER",
        parameters: (32, 0xAF, 0x0, false, false, 0x0),
        values: [0xBD0BE338, 0x0, 0x0],
        known: "recalled (the excerpt read stopped before it)",
        catalogue: catalogue!(u32, CRC_32_XFER),
    },
];
