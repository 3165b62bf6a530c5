//! The vehicle on loopback.

use std::io::{self, Read, Write};
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener, TcpStream, UdpSocket};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use asfound_wire::frame::Timestamp;

use crate::ip_gateway::IpGateway;
use crate::vehicle::Vehicle;

/// How soon a thread notices that it is to end.
const PACE: Duration = Duration::from_millis(20);

/// A vehicle on loopback, on one port for TCP and UDP. Ends when it is dropped.
pub struct IpServer {
    address: SocketAddr,
    vehicle: Arc<Mutex<Vehicle>>,
    ends: Arc<AtomicBool>,
    threads: Vec<JoinHandle<()>>,
}

impl IpServer {
    /// Serves a vehicle on a free port of loopback.
    ///
    /// # Errors
    /// When there is no port.
    pub fn start(vehicle: Vehicle) -> io::Result<Self> {
        Self::start_at((Ipv4Addr::LOCALHOST, 0).into(), vehicle)
    }

    /// The same with version 6 of IP.
    ///
    /// # Errors
    /// When there is no port.
    pub fn start_ipv6(vehicle: Vehicle) -> io::Result<Self> {
        Self::start_at((Ipv6Addr::LOCALHOST, 0).into(), vehicle)
    }

    /// The same at an address, which must be one of loopback.
    ///
    /// # Errors
    /// When it is not, or is taken.
    pub fn start_at(address: SocketAddr, vehicle: Vehicle) -> io::Result<Self> {
        if !address.ip().is_loopback() {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "a simulated vehicle is served on loopback only"));
        }
        let (listener, datagrams) = bind(address)?;
        let address = listener.local_addr()?;
        listener.set_nonblocking(true)?;
        datagrams.set_read_timeout(Some(PACE))?;
        let (vehicle, ends) = (Arc::new(Mutex::new(vehicle)), Arc::new(AtomicBool::new(false)));
        let mut threads = Vec::new();
        {
            let (vehicle, ends) = (Arc::clone(&vehicle), Arc::clone(&ends));
            threads.push(std::thread::spawn(move || accept(&listener, &vehicle, &ends)));
        }
        {
            let (vehicle, ends) = (Arc::clone(&vehicle), Arc::clone(&ends));
            threads.push(std::thread::spawn(move || identify(&datagrams, &vehicle, &ends)));
        }
        Ok(Self { address, vehicle, ends, threads })
    }

    /// Where it is.
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// The vehicle.
    pub fn vehicle(&self) -> MutexGuard<'_, Vehicle> {
        lock(&self.vehicle)
    }
}

impl Drop for IpServer {
    fn drop(&mut self) {
        self.ends.store(true, Ordering::Relaxed);
        for thread in self.threads.drain(..) {
            // A thread that panicked has said so.
            let _ = thread.join();
        }
    }
}

fn lock(vehicle: &Mutex<Vehicle>) -> MutexGuard<'_, Vehicle> {
    vehicle.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// Both sockets on one port: where the system chose it for one, it may be taken for the other.
fn bind(address: SocketAddr) -> io::Result<(TcpListener, UdpSocket)> {
    let mut last = io::Error::other("no port was tried");
    for _ in 0..20 {
        let listener = TcpListener::bind(address)?;
        match UdpSocket::bind(listener.local_addr()?) {
            Ok(datagrams) => return Ok((listener, datagrams)),
            Err(error) => last = error,
        }
    }
    Err(last)
}

fn accept(listener: &TcpListener, vehicle: &Arc<Mutex<Vehicle>>, ends: &Arc<AtomicBool>) {
    let mut connections = Vec::new();
    while !ends.load(Ordering::Relaxed) {
        match listener.accept() {
            Ok((stream, _)) => {
                let (vehicle, ends) = (Arc::clone(vehicle), Arc::clone(ends));
                connections.push(std::thread::spawn(move || {
                    // A tester that leaves is nothing to tell of.
                    let _ = serve(stream, &vehicle, &ends);
                }));
            }
            Err(_) => std::thread::sleep(Duration::from_millis(2)),
        }
    }
    for connection in connections {
        let _ = connection.join();
    }
}

fn serve(mut stream: TcpStream, vehicle: &Mutex<Vehicle>, ends: &AtomicBool) -> io::Result<()> {
    stream.set_nonblocking(false)?;
    stream.set_nodelay(true)?;
    let (began, mut gateway, mut bytes) = (Instant::now(), IpGateway::default(), [0; 4096]);
    let now = || Timestamp::default().after(began.elapsed());
    while !ends.load(Ordering::Relaxed) {
        let out = gateway.emit(now());
        stream.write_all(&out)?;
        if gateway.is_ended() && gateway.due().is_none() {
            return stream.shutdown(std::net::Shutdown::Both);
        }
        let wait = gateway.due().map_or(PACE, |due| Duration::from_nanos(due.since(now())));
        stream.set_read_timeout(Some(wait.clamp(Duration::from_micros(100), PACE)))?;
        match stream.read(&mut bytes) {
            Ok(0) => return Ok(()),
            Ok(length) => gateway.take(&mut lock(vehicle), now(), &bytes[..length]),
            Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(())
}

fn identify(socket: &UdpSocket, vehicle: &Mutex<Vehicle>, ends: &AtomicBool) {
    let mut bytes = [0; 1024];
    while !ends.load(Ordering::Relaxed) {
        let Ok((length, from)) = socket.recv_from(&mut bytes) else { continue };
        let mut vehicle = lock(vehicle);
        vehicle.hear(&bytes[..length]);
        if let Some([2 | 3 | 0xFF, _, high, low, _, _, _, _, content @ ..]) = bytes.get(..length)
            && let Some(answer) = IpGateway::datagram(&vehicle, u16::from_be_bytes([*high, *low]), content)
        {
            // Whoever asked and left is nothing to tell of.
            let _ = socket.send_to(&answer, from);
        }
    }
}
