//! Why a message did not get through (ISO 15765-2, `N_Result`).

use thiserror::Error;

/// Why a message did not get through, by the names of ISO 15765-2 (from memory; can-isotp 2.0.7 has an error of its own for each).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Error)]
pub enum TransportFailure {
    /// A frame did not leave in time.
    #[error("N_TIMEOUT_A: a frame did not leave in time")]
    TimeoutA,
    /// The receiver's flow control did not come in time.
    #[error("N_TIMEOUT_Bs: the receiver's flow control did not come in time")]
    TimeoutBs,
    /// The next consecutive frame did not come in time.
    #[error("N_TIMEOUT_Cr: the next frame did not come in time")]
    TimeoutCr,
    /// A consecutive frame came out of turn.
    #[error("N_WRONG_SN: frame {got} came where {expected} was due")]
    WrongSn {
        /// The count that was due.
        expected: u8,
        /// The one that came.
        got: u8,
    },
    /// A flow control asked for something that does not exist.
    #[error("N_INVALID_FS: a flow control asks for something that does not exist")]
    InvalidFs,
    /// Another message began before this one was whole.
    #[error("N_UNEXP_PDU: another message began before this one was whole")]
    UnexpPdu,
    /// The receiver asked to wait more often than it may.
    #[error("N_WFT_OVRN: the receiver asked to wait more often than it may")]
    WftOvrn,
    /// The message is longer than the receiver takes.
    #[error("N_BUFFER_OVFLW: the message is longer than the receiver takes")]
    BufferOvflw,
}
