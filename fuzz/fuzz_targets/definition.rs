//! See [`asfound_fuzz::definition`].

asfound_fuzz::target!(asfound_fuzz::definition);
