#pragma once

/// What file systems without these features answer; the tests' own system calls look here.
namespace glassbowl::test {

inline bool links_refused = false;          // linkat
inline bool unnamed_files_refused = false;  // openat with O_TMPFILE

}  // namespace glassbowl::test
