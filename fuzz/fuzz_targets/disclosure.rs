//! See [`asfound_fuzz::disclosure`].

asfound_fuzz::target!(asfound_fuzz::disclosure);
