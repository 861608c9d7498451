#include "importers/sha256.hpp"

#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <memory>

namespace pulsewright::importers {

std::string sha256(const Content& content) {
  const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context(EVP_MD_CTX_new(), &EVP_MD_CTX_free);
  EVP_DigestInit_ex(context.get(), EVP_sha256(), nullptr);
  constexpr std::size_t block = std::size_t{256} << 10;
  BlockBuffer buffer;
  for (std::size_t at = 0; at < content.size(); at += block) {
    const auto part = content.block(at, block, buffer).bytes;
    EVP_DigestUpdate(context.get(), part.data(), part.size());
  }
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  EVP_DigestFinal_ex(context.get(), digest.data(), &length);
  std::string text;
  for (unsigned i = 0; i < length; ++i) {
    text += "0123456789abcdef"[digest[i] >> 4];
    text += "0123456789abcdef"[digest[i] & 15];
  }
  return text;
}

}  // namespace pulsewright::importers
