//! See [`asfound_fuzz::table`].

asfound_fuzz::target!(asfound_fuzz::table);
