#pragma once

namespace glassbowl::viz {

/// Asks the window manager to fill the screen with a window, or to give it back its size (EWMH 1.5,
/// _NET_WM_STATE_FULLSCREEN). Nothing happens without a window manager.
void toggle_full_screen(unsigned long window);

}  // namespace glassbowl::viz
