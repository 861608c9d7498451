#include "analyzer/line/tables.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <numbers>

namespace pulsewright::analyzer {

namespace {

// Standard uncertainties: half of a printed +- limit; an estimated range is taken as uniform (width / sqrt(12)), no less
// than 4 % for a cable whose maker is not known. Conductors: ASTM B258 unless said.
constexpr std::array<CableKind, 17> cables{{
    {"cat5", "category 5 or 5e pair, 24 AWG", 100, 5, 5.05e-9, 0.13e-9, 0.1684,
     "TIA-568: 100 ohm +-15 %, 5.7 ns/m at most (second hand); velocity factor 0.64 to 0.70 from memory", true},
    {"cat6", "category 6 pair, 23 AWG", 100, 5, 4.91e-9, 0.13e-9, 0.1336,
     "TIA-568: 100 ohm +-15 % (second hand); velocity factor 0.68 from memory", true},
    {"indoor-pair", "in-house unshielded pair, 0.5 mm class", 98.4, 5, 4.90e-9, 0.15e-9, 0.1708,
     "ITU-T G.9701 Appendix I, Table I.6, type T05h", true},
    {"zip-18", "18 AWG two-wire PVC lamp cord", 105, 5, 4.80e-9, 0.2e-9, 0.0419,
     "Hall, QST March 1979, pp. 31-32 (measured; second hand)", true},
    {"speaker-18", "18 AWG loudspeaker cable", 87, 12, 6.4e-9, 0.9e-9, 0.0420,
     "owner's manual of a loudspeaker: 28 pF/ft, 0.21 uH/ft at audio frequency, so rough", true},
    {"speaker-16", "16 AWG loudspeaker cable", 106, 10, 5.6e-9, 0.5e-9, 0.0259,
     "owner's manual of a loudspeaker: 16 pF/ft, 0.18 uH/ft at audio frequency, so rough", true},
    {"speaker-14", "14 AWG loudspeaker cable", 87, 10, 4.9e-9, 0.5e-9, 0.0157,
     "owner's manual of a loudspeaker: 17 pF/ft, 0.13 uH/ft at audio frequency, so rough", true},
    {"speaker-12", "12 AWG loudspeaker cable", 93, 12, 6.0e-9, 0.9e-9, 0.0108,
     "owner's manual of a loudspeaker: 24 pF/ft, 0.21 uH/ft at audio frequency, so rough", true},
    {"cord-16-3", "three-core mains cord 16 AWG, conductor to conductor", 92, 8, 5.75e-9, 0.3e-9, 0.0263,
     "estimate: UL 62 insulation 0.030 in, parallel-wire formula", false},
    {"flex-1.5", "three-core flex 1.5 mm2", 85, 8, 5.75e-9, 0.3e-9, 0.0266,
     "IEC 60228 class 5: 13.3 ohm/km a core; impedance estimated from geometry", false},
    {"pixel-18", "three-core pixel lead 18 AWG", 80, 8, 5.56e-9, 0.25e-9, 0.0419,
     "estimate: 0.4 mm wall, parallel-wire formula; no published value found", false},
    {"pixel-20", "three-core pixel lead 20 AWG", 93, 9, 5.30e-9, 0.25e-9, 0.0666,
     "estimate: 0.4 mm wall, parallel-wire formula; no published value found", false},
    {"pixel-22", "three-core pixel lead 22 AWG", 102, 10, 5.30e-9, 0.25e-9, 0.1059,
     "estimate: 0.4 mm wall, parallel-wire formula; no published value found", false},
    {"rg58", "RG-58 coaxial cable", 50, 2, 5.05e-9, 0.1e-9, 0.05, "MIL-C-17/28: 50 +-2 ohm, velocity factor 0.66", true},
    {"rg59", "RG-59 coaxial cable, solid polyethylene", 75, 2.5, 5.05e-9, 0.1e-9, 0.07,
     "Harden, Coaxial Cable Specifications: velocity factor 0.66, 21 pF/ft", true},
    {"ribbon-gsg", "ribbon 28 AWG, 1.27 mm, signal between two grounds", 107, 6, 4.77e-9, 0.2e-9, 0.32,
     "makers' usual figures 105 to 110 ohm (from memory)", false},
    {"ribbon-gs", "ribbon 28 AWG, 1.27 mm, one ground one signal", 150, 12, 4.77e-9, 0.25e-9, 0.4258,
     "estimate: parallel-wire formula", false},
}};

// Typical resistances. Where a sheet prints limits only, typical parts are taken as 1/1.8 of the limit at 25 degrees C (they
// are 1.5 to 2.5 times lower), with 30 % uncertainty. Edges: 50 pF figures of the family sheets, or from memory.
constexpr std::array<DriverKind, 14> drivers{{
    {"hc", "HC bus driver (74HC245 and alike) at 5 V", 4.5, 30, 25, 7, 6e-9, 0.035,
     "Philips 74HC245; 74HCT245 data sheet rev 03, Table 7 (low side); high side from memory", true},
    {"hc-standard", "HC standard output (74HC04, 74HC14) at 5 V", 4.5, 45, 37, 11, 7e-9, 0.025,
     "Philips 74HC/HCT family specification (from memory)", false},
    {"hct", "HCT bus driver (74HCT245 and alike) at 5 V", 4.5, 30, 25, 8, 5e-9, 0.035,
     "Renesas HD74HCT245 data sheet rev 2.00, p. 3 (limits); transition 5 ns typical, Philips 74HCT sheets", true},
    {"ahct", "AHCT or VHCT gate (74AHCT125 and alike) at 5 V", 4.5, 34, 25, 9, 3e-9, 0.025,
     "onsemi MC74VHC1G125/1GT125 data sheet, p. 6 (limits)", true},
    {"vhct-3v", "VHCT gate at 3.3 V", 3.0, 55, 47, 16, 5e-9, 0.025,
     "onsemi MC74VHC1G125/1GT125 data sheet, p. 6 (limits at 3 V)", true},
    {"lv", "LV bus driver (74LV245) at 5 V", 4.5, 19, 22, 6, 5e-9, 0.035, "Philips 74LV245 data sheet, 20 Apr 1998, p. 5", true},
    {"lvc", "LVC buffer (74LVC245A) at 3.3 V", 3.0, 12, 11, 5, 2e-9, 0.05,
     "Philips 74LVC245A data sheet, 7 May 2003, p. 7 (limits); typical value from memory", true},
    {"atmega", "ATmega pin at 5 V", 5, 24, 24, 7, 5e-9, 0.04, "Atmel 8271H, p. 301; 7810C, p. 305 (limits)", true},
    {"esp32", "ESP32 pin, default drive strength", 3.3, 33, 35, 11, 3e-9, 0.04,
     "Espressif ESP32 data sheet, Table 13; the default setting gives about half the current of the strongest", true},
    {"esp32-strong", "ESP32 pin, strongest setting", 3.3, 17, 18, 5, 3e-9, 0.04, "Espressif ESP32 data sheet, Table 13", true},
    {"esp8266", "ESP8266 pin", 3.3, 30, 17, 9, 4e-9, 0.012, "Espressif ESP8266 data sheet, 12 Oct 2013, p. 15 (limits)", true},
    {"rp2040-12ma", "RP2040 pin, 12 mA setting", 3.3, 30, 23, 9, 3e-9, 0, "Raspberry Pi RP2040 data sheet, Table 632 (limits)", true},
    {"rp2040-4ma", "RP2040 pin, 4 mA setting (default)", 3.3, 80, 65, 25, 4e-9, 0,
     "Raspberry Pi RP2040 data sheet, Table 632 (limits)", true},
    {"stm32f1", "STM32F1 pin", 3.3, 30, 28, 9, 5e-9, 0.025, "ST STM32F103 data sheet, I/O characteristics (from memory)", false},
}};

bool same(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
    return std::tolower(static_cast<unsigned char>(x)) == std::tolower(static_cast<unsigned char>(y));
  });
}

template <class Table>
auto find_in(const Table& table, std::string_view id) {
  const auto found = std::find_if(table.begin(), table.end(), [id](const auto& entry) { return same(entry.id, id); });
  return found == table.end() ? nullptr : &*found;
}

}  // namespace

std::span<const CableKind> cable_kinds() { return cables; }
std::span<const DriverKind> driver_kinds() { return drivers; }
const CableKind* find_cable(std::string_view id) { return find_in(cables, id); }
const DriverKind* find_driver(std::string_view id) { return find_in(drivers, id); }

double skin_ohm_per_m_at_1mhz(double loop_ohm_per_m) {
  constexpr double copper_ohm_m = 1.7241e-8, skin_depth_m = 66e-6, proximity = 1.3;
  const double diameter_m = std::sqrt(4 / std::numbers::pi * 2 * copper_ohm_m / loop_ohm_per_m);
  return proximity * loop_ohm_per_m * diameter_m / (4 * skin_depth_m);
}

}  // namespace pulsewright::analyzer
