//! See [`asfound_fuzz::saved_columns`].

asfound_fuzz::target!(asfound_fuzz::saved_columns);
