//! See [`asfound_fuzz::seals`].

asfound_fuzz::target!(asfound_fuzz::seals);
