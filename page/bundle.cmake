# Bundles the page: cmake -D NODE=… -D NPM=… -D PAGE=out.html -D WANTED=auto|on -P bundle.cmake
# What a package needs is asked for again only when the lock file has changed.
set(here ${CMAKE_CURRENT_LIST_DIR})
set(mark ${here}/node_modules/.bundle-lock)

function(fail words)
  if(WANTED STREQUAL "on")
    message(FATAL_ERROR "${words}")
  endif()
  message(WARNING "pages are left out: ${words}. The next build tries again.")
  file(WRITE ${PAGE} "${words}")
  execute_process(COMMAND touch -d @1 ${PAGE})  # older than its sources: so that the next build does
endfunction()

file(SHA256 ${here}/package-lock.json lock)
set(installed "")
if(EXISTS ${mark})
  file(READ ${mark} installed)
endif()
if(NOT installed STREQUAL lock)
  execute_process(COMMAND ${NPM} ci --no-audit --no-fund --ignore-scripts --loglevel=error
    WORKING_DIRECTORY ${here} RESULT_VARIABLE code OUTPUT_QUIET ERROR_VARIABLE words)
  if(NOT code EQUAL 0)
    message("${words}")
    fail("npm could not get the page's packages")
    return()
  endif()
  file(WRITE ${mark} "${lock}")
endif()

execute_process(COMMAND ${NODE} ${here}/bundle.mjs ${PAGE} RESULT_VARIABLE code)
if(NOT code EQUAL 0)
  file(REMOVE ${PAGE})
  message(FATAL_ERROR "the page's scripts do not bundle; the words are above")
endif()
