#pragma once

namespace glassbowl::viz {

/// Whether a window could be opened; SFML would end the program if not.
bool has_display();

/// Errors   sim::Error{file}: says that there is no display and what to do.
void require_display();

/// Runs this program again under xvfb-run when there is no display, for work that needs no window to look at.
/// Returns only if that is not needed; throws as `require_display` when it cannot be done.
void borrow_display(char** arguments);

}  // namespace glassbowl::viz
