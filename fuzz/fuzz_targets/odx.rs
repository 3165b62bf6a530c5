//! See [`asfound_fuzz::odx`].

asfound_fuzz::target!(asfound_fuzz::odx);
