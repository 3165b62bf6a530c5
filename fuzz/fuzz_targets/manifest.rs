//! See [`asfound_fuzz::manifest`].

asfound_fuzz::target!(asfound_fuzz::manifest);
