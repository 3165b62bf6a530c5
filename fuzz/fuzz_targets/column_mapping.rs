//! See [`asfound_fuzz::column_mapping`].

asfound_fuzz::target!(asfound_fuzz::column_mapping);
