//! The vehicle behind a serial-line CAN adapter: a pseudo-terminal that speaks the text protocol.

use std::io::{self, Read, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use asfound_wire::frame::{CanFrame, CanId, Timestamp};
use serialport::{SerialPort, TTYPort};

use crate::can_gateway::CanGateway;
use crate::vehicle::Vehicle;

/// How soon the thread notices that something leaves, or that it is to end.
const PACE: Duration = Duration::from_millis(2);

/// A vehicle behind a serial-line CAN adapter. Ends when it is dropped.
pub struct SerialAdapter {
    path: String,
    vehicle: Arc<Mutex<Vehicle>>,
    ends: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl SerialAdapter {
    /// Makes a pseudo-terminal and serves a vehicle behind it.
    ///
    /// # Errors
    /// When there is no pseudo-terminal to be had.
    pub fn start(vehicle: Vehicle) -> io::Result<Self> {
        let (device, terminal) = TTYPort::pair()?;
        let path = terminal.name().ok_or(io::ErrorKind::NotFound)?;
        let (vehicle, ends) = (Arc::new(Mutex::new(vehicle)), Arc::new(AtomicBool::new(false)));
        let thread = {
            let (vehicle, ends) = (Arc::clone(&vehicle), Arc::clone(&ends));
            std::thread::spawn(move || {
                // A terminal that is gone ends it.
                let _ = serve(device, &vehicle, &ends);
            })
        };
        Ok(Self { path, vehicle, ends, thread: Some(thread) })
    }

    /// The path of the terminal.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The vehicle.
    pub fn vehicle(&self) -> MutexGuard<'_, Vehicle> {
        lock(&self.vehicle)
    }
}

impl Drop for SerialAdapter {
    fn drop(&mut self) {
        self.ends.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            // A thread that panicked has said so.
            let _ = thread.join();
        }
    }
}

fn lock(vehicle: &Mutex<Vehicle>) -> MutexGuard<'_, Vehicle> {
    vehicle.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

fn serve(mut device: TTYPort, vehicle: &Mutex<Vehicle>, ends: &AtomicBool) -> io::Result<()> {
    device.set_timeout(PACE)?;
    let (began, mut line, mut bytes, mut is_open) = (Instant::now(), Vec::new(), [0; 256], false);
    let now = || Timestamp::default().after(began.elapsed());
    let mut gateway = CanGateway::new(&lock(vehicle));
    while !ends.load(Ordering::Relaxed) {
        let frames = gateway.emit(&mut lock(vehicle), now());
        for frame in frames.iter().filter(|_| is_open) {
            // What nobody reads is lost.
            let _ = device.write_all(text(frame).as_bytes());
        }
        let length = match device.read(&mut bytes) {
            Ok(length) => length,
            Err(error) if matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock) => continue,
            // Nobody has the terminal open; somebody may open it again.
            Err(_) => {
                std::thread::sleep(PACE);
                line.clear();
                is_open = false;
                continue;
            }
        };
        for byte in &bytes[..length] {
            if *byte != b'\r' {
                line.push(*byte);
                continue;
            }
            let command = std::mem::take(&mut line);
            let answer = match &command[..] {
                [b'S', b'0'..=b'8'] if !is_open => "\r",
                b"O" if !is_open => {
                    is_open = true;
                    "\r"
                }
                b"C" if is_open => {
                    is_open = false;
                    "\r"
                }
                [b't' | b'T', ..] if is_open => match frame(&command) {
                    Some(frame) => {
                        gateway.take(&mut lock(vehicle), now(), &frame);
                        if frame.id.is_extended() { "Z\r" } else { "z\r" }
                    }
                    None => "\x07",
                },
                _ => "\x07",
            };
            let _ = device.write_all(answer.as_bytes());
        }
    }
    Ok(())
}

fn frame(command: &[u8]) -> Option<CanFrame> {
    let text = std::str::from_utf8(command).ok()?;
    let digits = if text.starts_with('T') { 8 } else { 3 };
    let number = u32::from_str_radix(text.get(1..=digits)?, 16).ok()?;
    let id = if digits == 8 { CanId::extended(number) } else { CanId::standard(number) }.ok()?;
    let length: usize = text.get(digits + 1..digits + 2)?.parse().ok()?;
    let data = text.get(digits + 2..)?;
    let byte = |at: usize| u8::from_str_radix(data.get(at..at + 2)?, 16).ok();
    let bytes: Option<Vec<u8>> = (0..data.len()).step_by(2).map(byte).collect();
    let bytes = bytes.filter(|bytes| bytes.len() == length && length <= 8)?;
    CanFrame::new(id, &bytes)
}

fn text(frame: &CanFrame) -> String {
    let number = frame.id.number();
    let head = if frame.id.is_extended() { format!("T{number:08X}") } else { format!("t{number:03X}") };
    let mut text = format!("{head}{}", frame.data().len());
    for byte in frame.data() {
        text.push_str(&format!("{byte:02X}"));
    }
    text.push('\r');
    text
}
