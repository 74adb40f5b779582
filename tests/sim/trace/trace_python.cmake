# A trace of ours, read by h5py, xarray and ncdump. Include from tests/CMakeLists.txt.
# Debian's own Python holds these packages; another one first on the path may not.
find_program(TRACE_PYTHON NAMES python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
add_executable(write_sample_trace ${CMAKE_CURRENT_LIST_DIR}/write_sample_trace.cpp)
target_link_libraries(write_sample_trace PRIVATE glassbowl_sim)
add_test(NAME "trace: a sample is written for other programs"
  COMMAND write_sample_trace ${CMAKE_CURRENT_BINARY_DIR}/sample_trace.h5)
add_test(NAME "trace: h5py, xarray and ncdump read it without adapters"
  COMMAND ${TRACE_PYTHON} ${CMAKE_CURRENT_LIST_DIR}/read_with_python.py ${CMAKE_CURRENT_BINARY_DIR}/sample_trace.h5)
set_tests_properties("trace: a sample is written for other programs" PROPERTIES FIXTURES_SETUP sample_trace)
set_tests_properties("trace: h5py, xarray and ncdump read it without adapters" PROPERTIES FIXTURES_REQUIRED sample_trace)
