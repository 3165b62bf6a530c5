//! See [`asfound_fuzz::entry`].

asfound_fuzz::target!(asfound_fuzz::entry);
