//! See [`asfound_fuzz::bus_transport`].

asfound_fuzz::target!(asfound_fuzz::bus_transport);
