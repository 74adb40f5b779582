#pragma once

namespace glassbowl::sim {

/// To be called first in a program. A standard stream that whoever started it has closed is put where reading
/// and writing fail, so that no file or socket opened later gets its number and is written over by a message.
/// A file that may not grow fails to be written like one on a full disk, instead of ending the program.
void hold_standard_streams();

}  // namespace glassbowl::sim
