# What is installed, and the Debian packages that `cpack` makes of it in the build folder: glassbowl (programs, cases,
# manual, completion), libglassbowl-dev (library and headers) and python3-glassbowl. An installation with
# `cmake --install` has the same tree.
set(package_folder ${PROJECT_SOURCE_DIR}/.ci/package)
set(GLASSBOWL_DATE 2026-11-30)  # of this version

# What follows from the programs' own help needs the programs; Python writes it.
find_program(PACKAGE_PYTHON NAMES python3 PATHS /usr/bin NO_DEFAULT_PATH)
if(PACKAGE_PYTHON)
  set(pages ${PROJECT_BINARY_DIR}/pages)
  set(programs glassbowl=$<TARGET_FILE:glassbowl>)
  set(page_sources ${package_folder}/make_pages.py ${package_folder}/man_pages.py ${package_folder}/completions.py
    ${package_folder}/help_text.py ${PROJECT_SOURCE_DIR}/CHANGELOG.md ${PROJECT_SOURCE_DIR}/LICENSE)
  set(page_programs glassbowl)
  if(TARGET glassbowl-view)
    list(APPEND programs glassbowl-view=$<TARGET_FILE:glassbowl-view>)
    list(APPEND page_programs glassbowl-view)
  endif()
  add_custom_command(OUTPUT ${pages}.stamp VERBATIM
    COMMAND ${CMAKE_COMMAND} -E rm -rf ${pages}
    COMMAND ${PACKAGE_PYTHON} -B ${package_folder}/make_pages.py ${pages} ${PROJECT_VERSION} ${GLASSBOWL_DATE} ${programs}
    COMMAND ${CMAKE_COMMAND} -E touch ${pages}.stamp
    DEPENDS ${page_programs} ${page_sources} COMMENT "Manual pages and shell completion")
  add_custom_target(glassbowl_pages ALL DEPENDS ${pages}.stamp)
  foreach(component program development python)
    install(DIRECTORY ${pages}/${component}/share DESTINATION . COMPONENT ${component})
  endforeach()
endif()
install(FILES sim/api/python/glassbowl.py DESTINATION lib/python3/dist-packages COMPONENT python)
install(DIRECTORY sim/api/python/examples DESTINATION share/doc/python3-glassbowl COMPONENT python)
if(TARGET glassbowl-view)
  configure_file(viz/desktop/glassbowl.metainfo.xml.in ${PROJECT_BINARY_DIR}/glassbowl.metainfo.xml @ONLY)
  install(FILES ${PROJECT_BINARY_DIR}/glassbowl.metainfo.xml DESTINATION share/metainfo COMPONENT program)
  install(FILES viz/desktop/glassbowl.svg DESTINATION share/icons/hicolor/scalable/apps COMPONENT program)
endif()

set(CPACK_GENERATOR DEB)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_ALL program development python)
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
  OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "carburetor circuits simulated against intake pulses")
set(CPACK_PACKAGE_VENDOR "the glassbowl authors")
set(CPACK_PACKAGE_CONTACT "the glassbowl authors <maintainers@glassbowl.invalid>")
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)

execute_process(COMMAND dpkg --print-architecture OUTPUT_VARIABLE architecture OUTPUT_STRIP_TRAILING_WHITESPACE
  ERROR_QUIET)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME glassbowl)
set(CPACK_DEBIAN_PROGRAM_FILE_NAME glassbowl_${PROJECT_VERSION}_${architecture}.deb)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_RECOMMENDS "fonts-inter, gnuplot-nox")
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SUGGESTS
  "chromium, ffmpeg, libglassbowl-dev, python3-glassbowl")
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION
"Simulates the fuel circuits of a carburetor in time, crank angle by crank
angle, with the engine that draws on them: jets, emulsion tube, slow
circuit, accelerator pump, float bowl, vacuum piston, wall film and
cylinders. It draws what it computed to scale, maps the mixture over
speed, throttle and altitude, and searches jets.

All shipped bikes are invented. A model does not replace the workshop
manual: a mixture set too lean overheats and seizes pistons.")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME libglassbowl-dev)
set(CPACK_DEBIAN_DEVELOPMENT_FILE_NAME libglassbowl-dev_${PROJECT_VERSION}_${architecture}.deb)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS "libfmt-dev, libhdf5-dev, libudunits2-dev")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_RECOMMENDS "glassbowl (= ${PROJECT_VERSION})")
set(CPACK_COMPONENT_DEVELOPMENT_DESCRIPTION
"The static library and the headers by which other programs read traces,
run cases live and use the models of carburetor and engine parts in
glassbowl, with files for CMake and pkg-config.")
set(CPACK_DEBIAN_PYTHON_PACKAGE_NAME python3-glassbowl)
set(CPACK_DEBIAN_PYTHON_FILE_NAME python3-glassbowl_${PROJECT_VERSION}_all.deb)
set(CPACK_DEBIAN_PYTHON_PACKAGE_ARCHITECTURE all)
set(CPACK_DEBIAN_PYTHON_PACKAGE_SECTION python)
set(CPACK_DEBIAN_PYTHON_PACKAGE_DEPENDS
  "python3:any, python3-xarray, python3-netcdf4, glassbowl (>= ${PROJECT_VERSION})")
set(CPACK_DEBIAN_PYTHON_PACKAGE_SUGGESTS python3-matplotlib)
set(CPACK_COMPONENT_PYTHON_DESCRIPTION
"A Python module that runs cases and studies of glassbowl and opens their
traces as xarray datasets with units and meanings, and some examples.")
if(PROJECT_IS_TOP_LEVEL)
  include(CPack)
endif()
