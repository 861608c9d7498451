#pragma once
// One cell of a table: what it is and what it says, whatever the locale.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pulsewright::importers::text {

/// How a line is cut into cells and how numbers are written.
struct Grid {
  char delimiter = ',';  ///< ' ' stands for runs of blanks, '\0' for one cell a line
  char decimal = '.';
};

std::vector<std::string_view> split(std::string_view line, const Grid& grid);

enum class CellKind {
  empty,
  number,   ///< perhaps with a unit behind it
  missing,  ///< "nan"
  stamp,    ///< date and time of day, or time of day
  unknown,  ///< undefined logic state, or a bus value that is no plain number: "X", "?", "h7A", "0x1C"
  word,
};

CellKind kind_of(std::string_view cell, char decimal);

/// The whole cell is a finite number: "+123.45E-03", "00.000007", "12.5 us" (scaled by its prefix).
std::optional<double> number_in(std::string_view cell, char decimal);

/// What stands behind the number of such a cell, "us", "mV" or "k"; empty where nothing does.
std::string unit_behind_number(std::string_view cell, char decimal);

/// Scale of "us", " mV" or "k" behind a number; 1 for nothing, none for anything else.
std::optional<double> scale_of_suffix(std::string_view rest);

/// Instant in seconds and 1e-15 s, so that differences are exact.
struct Instant {
  std::int64_t seconds = 0;
  std::int64_t femtoseconds = 0;
};

/// Difference in seconds, subtracted in integers first.
inline double operator-(const Instant& a, const Instant& b) {
  return static_cast<double>(a.seconds - b.seconds) + static_cast<double>(a.femtoseconds - b.femtoseconds) * 1e-15;
}

/// "2031-05-06T07:08:09.123456789+00:00", "06/05/2031  07:08:09.123456" (day first), "06-May-2031 07:08:09",
/// "07:08:09.5", "-00:00:00.5". Digits of the fraction beyond 15 are left out.
std::optional<Instant> stamp_in(std::string_view cell);

/// A plain number of seconds as an instant: integers all the way, for times far from zero.
std::optional<Instant> instant_in(std::string_view cell, char decimal);

/// One unit of the last digit as printed, in the unit of the number: 1e-8 for "-1.2345e-04"; 0 when there is none.
double last_digit_of(std::string_view cell, char decimal);

}  // namespace pulsewright::importers::text
