#pragma once
// Which column holds the time, or what else makes it.

#include "importers/text/evidence.hpp"

namespace pulsewright::importers::text {

/// Stamps, or numbers with the unit or the name of a time.
bool is_time(const Evidence& e, std::size_t c);

/// A column with the same rate in every row.
bool is_rate(const Evidence& e, std::size_t c);

/// A column that counts samples; without a name, any whole numbers that rise beside values.
bool counts_samples(const Evidence& e, std::size_t c);

/// Units behind the numbers take the place of one in the header. Throws ImportError where they are of another quantity or missing.
void take_units_in_cells(const Evidence& e, Layout& layout, std::size_t c, Quantity quantity);

/// Gives the time column its role and the layout its time base: a column of times, or index and rate columns, or an index
/// and what the header or the user says. Throws ImportError where there is none.
void find_time_base(const Evidence& e, Layout& layout);

}  // namespace pulsewright::importers::text
