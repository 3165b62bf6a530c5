//! See [`asfound_fuzz::small_texts`].

asfound_fuzz::target!(asfound_fuzz::small_texts);
