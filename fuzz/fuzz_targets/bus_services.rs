//! See [`asfound_fuzz::bus_services`].

asfound_fuzz::target!(asfound_fuzz::bus_services);
