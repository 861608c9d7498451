#include "importers/text/four_rows.hpp"

#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include <algorithm>
#include <limits>

namespace pulsewright::importers::text {

namespace {

#ifdef __SSE2__
constexpr bool has_vectors = true;
#else
constexpr bool has_vectors = false;
#endif

constexpr int longest_digits = 8;  // with the point

/// Where the endings for a first byte of a number start: behind a digit or a plus, a minus, or what does not belong there.
struct Signs {
  std::array<std::uint8_t, 256> place{};
};
constexpr Signs signs_for(std::size_t places) {
  Signs signs;
  for (std::size_t byte = 0; byte < '0'; ++byte) signs.place[byte] = static_cast<std::uint8_t>(2 * places);
  signs.place['+'] = 0;
  signs.place['-'] = static_cast<std::uint8_t>(places);
  return signs;
}
constexpr Signs signs = signs_for(ValueForm::places);

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
    // Should those very bytes stand there, the block has a value that is none and is read again the slow way.
    endings_[place + 2 * ValueForm::places] = {~std::uint64_t{0}, std::numeric_limits<double>::quiet_NaN()};
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
  const TimeText::Ahead ahead = timed ? expected.ahead() : TimeText::Ahead{};
  const std::uint64_t most_rows = timed ? expected.left() : std::numeric_limits<std::uint64_t>::max();
  const __m128i beside_time = vector(std::array{ahead.before, ahead.behind}), beside_mask = vector(std::array{ahead.before_mask, ahead.behind_mask});
  const __m128i time_literal = vector(std::array{ahead.literal, ahead.literal}), time_mask = vector(std::array{ahead.mask, ahead.mask});
  const __m128i step = vector(std::array{ahead.step, ahead.step}), point = vector(std::array{ahead.point, ahead.point});
  const __m128i no_carry = _mm_set1_epi8(static_cast<char>(TimeText::no_carry & 0xff));
  __m128i time_ab = vector(std::array{ahead.digits[0], ahead.digits[1]}), time_cd = vector(std::array{ahead.digits[2], ahead.digits[3]});
  const Literal before_time = before_time_, before_value = before_value_;
  const std::ptrdiff_t value_at = (timed ? expected.length() - 1 : 0) + before_value.length(), digits_length = digits_length_, ending_length = ending_length_;
  const std::uint64_t ending_mask = ending_mask_;
  const Ending* const endings = endings_.data();

  struct Row {
    const char *time, *digits;
    const Ending* ending;
  };
  const auto eight_and_eight = [](const char* low, const char* high) {
    const __m128i first = _mm_loadl_epi64(reinterpret_cast<const __m128i*>(low));
    return _mm_castps_si128(_mm_loadh_pi(_mm_castsi128_ps(first), reinterpret_cast<const __m64*>(high)));
  };
  // The bytes by which two times in the text differ from these digits.
  const auto differences = [&](const Row& first, const Row& second, __m128i times) {
    times = _mm_or_si128(_mm_srli_epi16(times, 8), _mm_slli_epi16(times, 8));
    times = _mm_shufflehi_epi16(_mm_shufflelo_epi16(times, _MM_SHUFFLE(0, 1, 2, 3)), _MM_SHUFFLE(0, 1, 2, 3));  // the first digit first
    return _mm_xor_si128(_mm_xor_si128(eight_and_eight(first.time, second.time), times), time_literal);
  };
  // As by TimeText::advance, in both halves.
  const auto advance = [&](__m128i& times) {
    const __m128i sum = _mm_add_epi64(times, step);
    times = _mm_or_si128(_mm_sub_epi8(sum, _mm_and_si128(_mm_cmplt_epi8(sum, none), no_carry)), point);
  };
  const auto pairs_of = [&](__m128i digits) {
    return _mm_packs_epi32(_mm_madd_epi16(_mm_unpacklo_epi8(digits, none), digit_weights), _mm_madd_epi16(_mm_unpackhi_epi8(digits, none), digit_weights));
  };
  const auto scales_of = [](const Row& a, const Row& b) { return _mm_loadh_pd(_mm_load_sd(&a.ending->scale), &b.ending->scale); };

  constexpr std::ptrdiff_t longest_row = 64;
  std::uint64_t rows = 0;
  while (stop - p > 3 * longest_row && most_rows - rows >= 4) {
    std::uint64_t wrong = 0;
    __m128i wrong_beside = none;
    const char* q = p;
    const auto take_row = [&] {
      const char* time = nullptr;
      if (timed && !bare) wrong |= before_time.differs(q), q += before_time.length();
      if constexpr (timed) {
        time = q + ahead.changing_at;
        wrong_beside = _mm_or_si128(wrong_beside, _mm_xor_si128(eight_and_eight(time - 8, time + 8), beside_time));
      }
      q += value_at;
      if (!timed || !bare) wrong |= before_value.differs(q - before_value.length());  // else it is the byte behind the time
      const auto sign = static_cast<unsigned char>(*q);
      q += static_cast<std::ptrdiff_t>(sign < '0');  // no more than that, as the place of the next row waits for it
      const char* const digits = q;
      q += digits_length;
      const std::uint64_t text = detail::load8(q);
      const Ending& ending = endings[signs.place[sign] + (scientific ? ValueForm::place_of(static_cast<std::uint32_t>(text)) : 0)];
      wrong |= (text ^ ending.text) & ending_mask;
      q += ending_length;
      return Row{time, digits, &ending};
    };
    const Row a = take_row(), b = take_row(), c = take_row(), d = take_row();
    const __m128i ab = _mm_xor_si128(eight_and_eight(a.digits, b.digits), plain), cd = _mm_xor_si128(eight_and_eight(c.digits, d.digits), plain);
    const __m128i too_much = _mm_or_si128(_mm_subs_epu8(ab, most), _mm_subs_epu8(cd, most));
    __m128i odd_bytes = _mm_or_si128(too_much, _mm_and_si128(wrong_beside, beside_mask));
    if constexpr (timed) odd_bytes = _mm_or_si128(odd_bytes, _mm_and_si128(_mm_or_si128(differences(a, b, time_ab), differences(c, d, time_cd)), time_mask));
    if (wrong != 0 || _mm_movemask_epi8(_mm_cmpeq_epi8(odd_bytes, none)) != 0xffff) break;
    const __m128i halves = _mm_packs_epi32(_mm_madd_epi16(pairs_of(ab), pair_weights), _mm_madd_epi16(pairs_of(cd), pair_weights));
    const __m128i numbers = _mm_madd_epi16(halves, half_weights);
    const __m128 low = _mm_cvtpd_ps(_mm_mul_pd(_mm_cvtepi32_pd(numbers), scales_of(a, b)));
    const __m128 high = _mm_cvtpd_ps(_mm_mul_pd(_mm_cvtepi32_pd(_mm_unpackhi_epi64(numbers, numbers)), scales_of(c, d)));
    _mm_storeu_ps(values + rows, _mm_movelh_ps(low, high));
    if constexpr (timed) advance(time_ab), advance(time_cd);
    rows += 4;
    p = q;
  }
  if constexpr (timed) {
    std::uint64_t digits;
    _mm_storel_epi64(reinterpret_cast<__m128i*>(&digits), time_ab);
    expected.advance_to(digits, rows);
  }
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
