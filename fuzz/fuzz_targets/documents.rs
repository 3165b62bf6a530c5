//! See [`asfound_fuzz::documents`].

asfound_fuzz::target!(asfound_fuzz::documents);
