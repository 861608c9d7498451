// Boost.Test from its headers: there is no built library of it for mingw-w64.
#define BOOST_TEST_MODULE pulsewright
#include <boost/test/included/unit_test.hpp>
