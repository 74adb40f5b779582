/// What UDUNITS' own reader loses of a word that it does not know, 75 bytes in 10 million inputs.
extern "C" const char* __lsan_default_suppressions() {  // NOLINT: the sanitizer's name for it
  return "leak:utlex";
}
