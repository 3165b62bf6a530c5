//! See [`asfound_fuzz::bus_log`].

asfound_fuzz::target!(asfound_fuzz::bus_log);
