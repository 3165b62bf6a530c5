//! See [`asfound_fuzz::vehicle`].

asfound_fuzz::target!(asfound_fuzz::vehicle);
