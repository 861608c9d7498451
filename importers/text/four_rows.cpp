#include "importers/text/four_rows.hpp"

#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include <algorithm>

namespace pulsewright::importers::text {

namespace {

#ifdef __SSE2__
constexpr bool has_vectors = true;
#else
constexpr bool has_vectors = false;
#endif

constexpr int longest_digits = 8;  // with the point

}  // namespace

FourRows::FourRows(const ValueForm& form, char decimal, const Literal& before_time, const Literal& before_value, const Literal& line_end)
    : scientific_(form.notation() == ValueNotation::scientific), decimal_(scientific_ ? '.' : decimal), decimals_(form.decimals()), before_time_(before_time), before_value_(before_value) {
  const std::ptrdiff_t exponent_length = scientific_ ? 4 : 0;
  ending_length_ = exponent_length + line_end.length();
  usable_ = has_vectors && (scientific_ || form.notation() == ValueNotation::fixed) && ending_length_ <= 8;
  if (!usable_) return;
  bare_ = before_time.length() == 0 && before_value.length() <= 1;
  ending_mask_ = ending_length_ == 8 ? ~std::uint64_t{0} : (std::uint64_t{1} << (8 * ending_length_)) - 1;
  for (std::size_t place = 0; place < (scientific_ ? ValueForm::places : 1); ++place) {
    const auto exponent = scientific_ ? form.exponents()[place] : ValueForm::Exponent{0, form.scale()};
    const std::uint64_t text = exponent.text | line_end.text() << (8 * exponent_length);
    endings_[place] = {text, exponent.scale};
    endings_[place + ValueForm::places] = {text, -exponent.scale};
  }
  lay_out(1);
}

void FourRows::learn_whole_digits(const char* p) {
  if (scientific_) return;
  p += static_cast<int>(*p == '-' || *p == '+');
  int whole = 1;
  while (whole + 1 + decimals_ < longest_digits && p[whole] != decimal_) ++whole;
  if (whole != whole_digits_) lay_out(whole);
}

/// Weights of the digits, so that sums of two neighbours, of two such sums and of two of those give the number; all fit into 16 bits.
void FourRows::lay_out(int whole_digits) {
  whole_digits_ = whole_digits;
  const int length = whole_digits + 1 + decimals_;
  digits_length_ = length;
  constexpr int none = 99;
  const auto power = [](int of) { return static_cast<std::int16_t>(detail::integer_powers[static_cast<std::size_t>(of)]); };
  std::array<int, 8> powers{};
  for (int i = 0; i < longest_digits; ++i) {
    const bool digit = i < length && i != whole_digits, point = i == whole_digits;
    const auto at = static_cast<std::size_t>(i);
    powers[at] = digit ? length - 1 - i - (i < whole_digits) : none;
    plain_[at] = plain_[at + 8] = static_cast<std::uint8_t>(point ? decimal_ : '0');
    most_[at] = most_[at + 8] = digit ? 9 : point ? 0 : 255;
  }
  std::array<int, 4> of_pair{};
  std::array<int, 2> of_half{};
  for (std::size_t pair = 0; pair < 4; ++pair) of_pair[pair] = std::min(powers[2 * pair], powers[2 * pair + 1]);
  for (std::size_t half = 0; half < 2; ++half) of_half[half] = std::min(of_pair[2 * half], of_pair[2 * half + 1]);
  for (std::size_t i = 0; i < 8; ++i) digit_weights_[i] = powers[i] == none ? std::int16_t{0} : power(powers[i] - of_pair[i / 2]);
  for (std::size_t i = 0; i < 8; ++i) pair_weights_[i] = of_pair[i % 4] == none ? std::int16_t{0} : power(of_pair[i % 4] - of_half[i % 4 / 2]);
  for (std::size_t i = 0; i < 8; ++i) half_weights_[i] = of_half[i % 2] == none ? std::int16_t{0} : power(of_half[i % 2]);
}

#ifdef __SSE2__

template <bool timed, bool scientific, bool bare>
std::uint64_t FourRows::take_as(const char*& p, const char* stop, TimeText& expected, float* values) const {
  const auto vector = [](const auto& array) { return _mm_loadu_si128(reinterpret_cast<const __m128i*>(array.data())); };
  const __m128i plain = vector(plain_), most = vector(most_), none = _mm_setzero_si128();
  const __m128i digit_weights = vector(digit_weights_), pair_weights = vector(pair_weights_), half_weights = vector(half_weights_);
  const TimeText::Beside beside = expected.beside();
  const __m128i beside_time = vector(std::array{beside.before, beside.behind}), beside_mask = vector(std::array{beside.before_mask, beside.behind_mask});
  const Literal before_time = before_time_, before_value = before_value_;
  const std::ptrdiff_t value_at = (timed ? expected.length() - 1 : 0) + before_value.length(), digits_length = digits_length_, ending_length = ending_length_;
  const std::uint64_t ending_mask = ending_mask_;
  const Ending* const endings = endings_.data();

  struct Row {
    const char* digits;
    const Ending* ending;
  };
  const auto eight_and_eight = [](const char* low, const char* high) {
    const __m128i first = _mm_loadl_epi64(reinterpret_cast<const __m128i*>(low));
    return _mm_castps_si128(_mm_loadh_pi(_mm_castsi128_ps(first), reinterpret_cast<const __m64*>(high)));
  };
  const auto pairs_of = [&](__m128i digits) {
    return _mm_packs_epi32(_mm_madd_epi16(_mm_unpacklo_epi8(digits, none), digit_weights), _mm_madd_epi16(_mm_unpackhi_epi8(digits, none), digit_weights));
  };
  const auto scales_of = [](const Row& a, const Row& b) { return _mm_loadh_pd(_mm_load_sd(&a.ending->scale), &b.ending->scale); };

  constexpr std::ptrdiff_t longest_row = 64;
  std::uint64_t rows = 0;
  TimeText time = expected;
  while (stop - p > 3 * longest_row) {
    const TimeText before = time;
    std::uint64_t wrong = 0, wrong_times = 0;
    __m128i wrong_beside = none;
    const char* q = p;
    const auto take_row = [&] {
      if (timed && !bare) wrong |= before_time.differs(q), q += before_time.length();
      if constexpr (timed) {
        const char* const changing = q + beside.changing_at;
        wrong_times |= time.differences(changing);
        wrong_beside = _mm_or_si128(wrong_beside, _mm_xor_si128(eight_and_eight(changing - 8, changing + 8), beside_time));
      }
      q += value_at;
      if (!timed || !bare) wrong |= before_value.differs(q - before_value.length());  // else it is the byte behind the time
      const auto negative = static_cast<std::uint32_t>(*q == '-');
      q += negative | static_cast<std::uint32_t>(*q == '+');
      const char* const digits = q;
      q += digits_length;
      const std::uint64_t text = detail::load8(q);
      const Ending& ending = endings[negative * ValueForm::places + (scientific ? ValueForm::place_of(static_cast<std::uint32_t>(text)) : 0)];
      wrong |= (text ^ ending.text) & ending_mask;
      q += ending_length;
      return Row{digits, &ending};
    };
    const Row a = take_row();
    if (timed) time.advance();
    const Row b = take_row();
    if (timed) time.advance();
    const Row c = take_row();
    if (timed) time.advance();
    const Row d = take_row();
    const __m128i ab = _mm_xor_si128(eight_and_eight(a.digits, b.digits), plain), cd = _mm_xor_si128(eight_and_eight(c.digits, d.digits), plain);
    const __m128i too_much = _mm_or_si128(_mm_subs_epu8(ab, most), _mm_subs_epu8(cd, most));
    const __m128i odd_bytes = _mm_or_si128(too_much, _mm_and_si128(wrong_beside, beside_mask));
    const bool good = wrong == 0 && _mm_movemask_epi8(_mm_cmpeq_epi8(odd_bytes, none)) == 0xffff && (!timed || time.none(wrong_times));
    if (!good) {
      time = before;
      break;
    }
    const __m128i halves = _mm_packs_epi32(_mm_madd_epi16(pairs_of(ab), pair_weights), _mm_madd_epi16(pairs_of(cd), pair_weights));
    const __m128i numbers = _mm_madd_epi16(halves, half_weights);
    const __m128 low = _mm_cvtpd_ps(_mm_mul_pd(_mm_cvtepi32_pd(numbers), scales_of(a, b)));
    const __m128 high = _mm_cvtpd_ps(_mm_mul_pd(_mm_cvtepi32_pd(_mm_unpackhi_epi64(numbers, numbers)), scales_of(c, d)));
    _mm_storeu_ps(values + rows, _mm_movelh_ps(low, high));
    if (timed) time.advance();
    rows += 4;
    p = q;
  }
  expected = time;
  return rows;
}

#else

template <bool timed, bool scientific, bool bare>
std::uint64_t FourRows::take_as(const char*&, const char*, TimeText&, float*) const {
  return 0;
}

#endif

template std::uint64_t FourRows::take_as<true, true, true>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<true, true, false>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<true, false, true>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<true, false, false>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<false, true, true>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<false, true, false>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<false, false, true>(const char*&, const char*, TimeText&, float*) const;
template std::uint64_t FourRows::take_as<false, false, false>(const char*&, const char*, TimeText&, float*) const;

}  // namespace pulsewright::importers::text
