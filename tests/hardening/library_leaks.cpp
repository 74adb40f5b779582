/// What libraries lose, one a line, for all fuzzers. UDUNITS' own reader: 75 bytes of unknown words in 10
/// million inputs. HDF5 on its way out of damage: that ends with the child.
extern "C" const char* __lsan_default_suppressions() {  // NOLINT: the sanitizer's name for it
  return "leak:utlex\nleak:libhdf5\n";
}
