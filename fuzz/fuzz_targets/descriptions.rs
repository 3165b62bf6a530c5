//! See [`asfound_fuzz::descriptions`].

asfound_fuzz::target!(asfound_fuzz::descriptions);
