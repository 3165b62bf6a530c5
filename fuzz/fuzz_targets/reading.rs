//! See [`asfound_fuzz::reading`].

asfound_fuzz::target!(asfound_fuzz::reading);
