#pragma once
// A ceiling for the memory of the whole program.

#include <cstddef>

namespace pulsewright::cli {

/// From now on an allocation that would lift the sum of all later ones above `bytes` throws std::bad_alloc; 0 takes the
/// ceiling away. Counted is what goes through operator new: samples, contents and everything else whose size a file can
/// ask for. Not counted: the program itself, stacks, and what libraries written in C keep for themselves.
void set_memory_ceiling(std::size_t bytes);

/// Three quarters of the memory that the machine has: room stays for the system and for what the ceiling does not count.
/// 0 where the system does not tell.
std::size_t usual_memory_ceiling_bytes();

}  // namespace pulsewright::cli
