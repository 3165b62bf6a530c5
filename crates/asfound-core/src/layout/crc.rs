//! Cyclic redundancy checks.

use super::ChecksumError;

/// The parameters of a cyclic redundancy check, named as in the CRC `RevEng` catalogue's model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CrcParameters {
    /// 8 or 16 bits.
    pub width: u8,
    /// The polynomial without its leading term, most significant bit first (not reversed).
    pub polynomial: u16,
    /// The register before the first byte, not reversed.
    pub initial: u16,
    /// What the result is combined with at the end.
    pub final_xor: u16,
    /// Whether each byte is taken in with its least significant bit first.
    pub reflect_in: bool,
    /// Whether the register is reversed before `final_xor`.
    pub reflect_out: bool,
}

impl CrcParameters {
    /// Everything in the parameters that does not fit.
    pub(super) fn fit(&self, errors: &mut Vec<ChecksumError>) {
        if self.width != 8 && self.width != 16 {
            errors.push(ChecksumError::Width(self.width));
            return;
        }
        if self.polynomial == 0 {
            errors.push(ChecksumError::ZeroPolynomial);
        }
        let most = u16::MAX >> (16 - self.width);
        for (parameter, value) in
            [("polynomial", self.polynomial), ("initial", self.initial), ("final_xor", self.final_xor)]
        {
            if value > most {
                errors.push(ChecksumError::Wide { parameter, value, width: self.width });
            }
        }
    }

    /// The check over bytes. Bit by bit: records are short, and any parameters will do.
    pub(super) fn compute(&self, bytes: impl IntoIterator<Item = u8>) -> u16 {
        // The register stands at the left end of 16 bits for either width.
        let left = 16 - u32::from(self.width);
        let mut register = self.initial << left;
        for byte in bytes {
            let byte = if self.reflect_in { byte.reverse_bits() } else { byte };
            register ^= u16::from(byte) << 8;
            for _ in 0..8 {
                let carry = register & 0x8000 != 0;
                register <<= 1;
                if carry {
                    register ^= self.polynomial << left;
                }
            }
        }
        let result = if self.reflect_out { register.reverse_bits() & (u16::MAX >> left) } else { register >> left };
        result ^ self.final_xor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The CRC `RevEng` catalogue <https://reveng.sourceforge.io/crc-catalogue/> as the crate crc-catalog 2 carries it; its
    /// `check` is the result over the bytes `123456789`.
    macro_rules! catalogue {
        ($($name:ident),* $(,)?) => {
            [$({
                let entry = crc::$name;
                let parameters = CrcParameters {
                    width: entry.width,
                    polynomial: u16::from(entry.poly),
                    initial: u16::from(entry.init),
                    final_xor: u16::from(entry.xorout),
                    reflect_in: entry.refin,
                    reflect_out: entry.refout,
                };
                (stringify!($name), parameters, u16::from(entry.check))
            }),*]
        };
    }

    #[test]
    fn gives_the_check_values_of_the_catalogue() {
        let entries = catalogue![
            CRC_8_AUTOSAR,
            CRC_8_BLUETOOTH,
            CRC_8_CDMA2000,
            CRC_8_DARC,
            CRC_8_DVB_S2,
            CRC_8_GSM_A,
            CRC_8_GSM_B,
            CRC_8_HITAG,
            CRC_8_I_432_1,
            CRC_8_I_CODE,
            CRC_8_LTE,
            CRC_8_MAXIM_DOW,
            CRC_8_MIFARE_MAD,
            CRC_8_NRSC_5,
            CRC_8_OPENSAFETY,
            CRC_8_ROHC,
            CRC_8_SAE_J1850,
            CRC_8_SMBUS,
            CRC_8_TECH_3250,
            CRC_8_WCDMA,
            CRC_16_ARC,
            CRC_16_CDMA2000,
            CRC_16_CMS,
            CRC_16_DDS_110,
            CRC_16_DECT_R,
            CRC_16_DECT_X,
            CRC_16_DNP,
            CRC_16_EN_13757,
            CRC_16_GENIBUS,
            CRC_16_GSM,
            CRC_16_IBM_3740,
            CRC_16_IBM_SDLC,
            CRC_16_ISO_IEC_14443_3_A,
            CRC_16_KERMIT,
            CRC_16_LJ1200,
            CRC_16_M17,
            CRC_16_MAXIM_DOW,
            CRC_16_MCRF4XX,
            CRC_16_MODBUS,
            CRC_16_NRSC_5,
            CRC_16_OPENSAFETY_A,
            CRC_16_OPENSAFETY_B,
            CRC_16_PROFIBUS,
            CRC_16_RIELLO,
            CRC_16_SPI_FUJITSU,
            CRC_16_T10_DIF,
            CRC_16_TELEDISK,
            CRC_16_TMS37157,
            CRC_16_UMTS,
            CRC_16_USB,
            CRC_16_XMODEM,
        ];
        for (name, parameters, check) in entries {
            let mut errors = Vec::new();
            parameters.fit(&mut errors);
            assert_eq!(errors, [], "{name}");
            assert_eq!(parameters.compute(*b"123456789"), check, "{name}");
        }
        assert!(entries.iter().any(|(_, parameters, _)| parameters.width == 8 && parameters.reflect_in));
        assert!(entries.iter().any(|(_, parameters, _)| parameters.width == 16 && parameters.reflect_in));
        assert_eq!(entries.len(), 51);
    }

    /// The catalogue has no 8 or 16 bits wide entry that is reflected at one end only, so the crate crc calculates these.
    #[test]
    fn may_be_reflected_at_one_end_only() {
        const fn algorithm<W: crc::Width + Copy>(width: u8, values: [W; 5], refin: bool) -> crc::Algorithm<W> {
            let [poly, init, xorout, check, residue] = values;
            crc::Algorithm { width, poly, init, refin, refout: !refin, xorout, check, residue }
        }
        static EIGHT: [crc::Algorithm<u8>; 2] =
            [algorithm(8, [0x1D, 0xC7, 0x55, 0, 0], true), algorithm(8, [0x1D, 0xC7, 0x55, 0, 0], false)];
        static SIXTEEN: [crc::Algorithm<u16>; 2] =
            [algorithm(16, [0x1021, 0xC601, 0x55AA, 0, 0], true), algorithm(16, [0x1021, 0xC601, 0x55AA, 0, 0], false)];
        let ours = |width, polynomial, initial, final_xor, reflect_in: bool| {
            let reflect_out = !reflect_in;
            CrcParameters { width, polynomial, initial, final_xor, reflect_in, reflect_out }.compute(*b"123456789")
        };
        for (eight, sixteen) in EIGHT.iter().zip(&SIXTEEN) {
            let reference = crc::Crc::<u8>::new(eight).checksum(b"123456789");
            assert_eq!(ours(8, 0x1D, 0xC7, 0x55, eight.refin), u16::from(reference), "refin {}", eight.refin);
            let reference = crc::Crc::<u16>::new(sixteen).checksum(b"123456789");
            assert_eq!(ours(16, 0x1021, 0xC601, 0x55AA, sixteen.refin), reference, "refin {}", sixteen.refin);
        }
    }

    #[test]
    fn refuses_parameters_that_do_not_fit() {
        let errors = |width, polynomial, initial| {
            let mut errors = Vec::new();
            CrcParameters { width, polynomial, initial, final_xor: 0, reflect_in: false, reflect_out: false }
                .fit(&mut errors);
            errors
        };
        assert_eq!(errors(12, 0x80F, 0), [ChecksumError::Width(12)]);
        assert_eq!(errors(0, 1, 0), [ChecksumError::Width(0)]);
        assert_eq!(
            errors(8, 0, 0x100),
            [ChecksumError::ZeroPolynomial, ChecksumError::Wide { parameter: "initial", value: 0x100, width: 8 }]
        );
        assert_eq!(errors(16, 0xFFFF, 0xFFFF), []);
    }
}
