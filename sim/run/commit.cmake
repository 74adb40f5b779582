# The commit that the program is built from, for --version. Included, this file declares how a build makes it;
# run as a script, it writes it, anew only where it has changed:
#   cmake -DROOT=.. -DOUTPUT=.. -P commit.cmake

if(CMAKE_SCRIPT_MODE_FILE)
  set(commit)
  find_program(git git)
  if(git AND EXISTS ${ROOT}/.git)
    execute_process(COMMAND ${git} -c safe.directory=* -C ${ROOT} rev-parse --short=12 HEAD
      OUTPUT_VARIABLE commit OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
    execute_process(COMMAND ${git} -c safe.directory=* -C ${ROOT} status --porcelain --untracked-files=no
      OUTPUT_VARIABLE changes ERROR_QUIET)
    if(commit AND changes)
      string(APPEND commit "+")
    endif()
  endif()
  file(CONFIGURE OUTPUT ${OUTPUT} @ONLY CONTENT "#include \"sim/run/version.hpp\"\n
namespace glassbowl::sim {\n\nstd::string_view program_commit() {\n  return \"@commit@\";\n}\n
}  // namespace glassbowl::sim\n")
  return()
endif()

set(commit_script ${CMAKE_CURRENT_LIST_FILE})
function(make_commit root output)
  add_custom_target(glassbowl_commit VERBATIM BYPRODUCTS ${output}
    COMMAND ${CMAKE_COMMAND} -DROOT=${root} -DOUTPUT=${output} -P ${commit_script}
    COMMENT "Commit that is built")
endfunction()
