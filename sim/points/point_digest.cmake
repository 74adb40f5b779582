# Digest of all that decides a computed point: kept points of another digest are not used. Included, this file
# declares how a build makes it; run as a script, it computes it:
#   cmake -DROOT=.. -DLIST=.. -DSETTINGS=.. -DOUTPUT=.. -P point_digest.cmake

if(CMAKE_SCRIPT_MODE_FILE)
  file(STRINGS ${LIST} sources)
  file(READ ${SETTINGS} all)
  foreach(source ${sources})
    file(SHA256 ${ROOT}/${source} hash)
    string(APPEND all "${source} ${hash}\n")
  endforeach()
  string(SHA256 digest "${all}")
  file(WRITE ${OUTPUT} "#include \"sim/run/version.hpp\"\n\nnamespace glassbowl::sim {\n\n"
    "std::string_view point_digest() {\n  return \"${digest}\";\n}\n\n}  // namespace glassbowl::sim\n")
  return()
endif()

# Makes `output`, a source file, from the sources below `root`, anew whenever one of them, their list or a
# setting of the compiler has changed.
set(point_digest_script ${CMAKE_CURRENT_LIST_FILE})
function(make_point_digest root output)
  set(patterns)
  foreach(folder models sim/bike sim/cases sim/network sim/lanes sim/lockstep sim/solver sim/steady sim/run)
    list(APPEND patterns ${folder}/*.hpp ${folder}/*.cpp ${folder}/*.cmake)
  endforeach()
  foreach(file points/steady_point points/shared_case studies/blip_study)
    list(APPEND patterns sim/${file}.hpp sim/${file}.cpp)
  endforeach()
  list(TRANSFORM patterns PREPEND ${root}/)
  file(GLOB_RECURSE sources CONFIGURE_DEPENDS RELATIVE ${root} ${patterns})
  list(APPEND sources CMakeLists.txt)  # flags of single targets
  string(TOUPPER "${CMAKE_BUILD_TYPE}" type)
  string(REPLACE ";" "\n" lines "${sources}")
  file(CONFIGURE OUTPUT ${output}.list CONTENT "${lines}\n" @ONLY)
  file(CONFIGURE OUTPUT ${output}.settings @ONLY CONTENT
    "${CMAKE_CXX_COMPILER_ID} ${CMAKE_CXX_COMPILER_VERSION} ${CMAKE_SYSTEM_PROCESSOR}
${CMAKE_CXX_FLAGS} ${CMAKE_CXX_FLAGS_${type}} ${GLASSBOWL_SANITIZE}
Boost ${Boost_VERSION} Eigen ${Eigen3_VERSION}
")
  set(absolute ${sources})
  list(TRANSFORM absolute PREPEND ${root}/)
  add_custom_command(OUTPUT ${output} VERBATIM
    COMMAND ${CMAKE_COMMAND} -DROOT=${root} -DLIST=${output}.list -DSETTINGS=${output}.settings
      -DOUTPUT=${output} -P ${point_digest_script}
    DEPENDS ${point_digest_script} ${output}.list ${output}.settings ${absolute}
    COMMENT "Digest of what decides a point")
endfunction()
