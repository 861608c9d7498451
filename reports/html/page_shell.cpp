#include "reports/html/page_shell.hpp"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <stdexcept>
#include <vector>

#include "reports/html/page_assets.hpp"
#include "reports/markup.hpp"

namespace pulsewright::reports::html {

std::string policy_hash(std::string_view text) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int length = 0;
  if (EVP_Digest(text.data(), text.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1)
    throw std::runtime_error("SHA-256 is not available");
  std::array<unsigned char, 2 * EVP_MAX_MD_SIZE> base64{};
  const int written = EVP_EncodeBlock(base64.data(), digest.data(), static_cast<int>(length));
  return "sha256-" + std::string(base64.begin(), base64.begin() + written);
}

std::string_view plot_licence() { return assets::plot_licence; }

std::string page(const Page& page) {
  // The plotting library goes with its data; its licence stands on the pages that have them.
  const bool plots = !page.data_json.empty();
  std::vector<std::string_view> scripts{assets::page_js}, styles{assets::page_css};
  if (plots) scripts.insert(scripts.begin(), assets::plot_js), styles.insert(styles.begin(), assets::plot_css);
  const auto hashes = [](const std::vector<std::string_view>& texts) {
    std::string made;
    for (const auto text : texts) made += " '" + policy_hash(text) + "'";
    return made;
  };
  std::string text = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src{}; style-src{}; base-uri 'none'; form-action 'none'\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n"
      "<meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n",
      hashes(scripts), hashes(styles), escape(page.title));
  for (const auto style : styles) text += "<style>" + std::string(style) + "</style>\n";
  text += "</head>\n<body>\n" + page.body;
  if (plots) text += "<script type=\"application/json\" id=\"page-data\">" + json_in_script(page.data_json) + "</script>\n";
  for (const auto script : scripts) text += "<script>" + std::string(script) + "</script>\n";
  return text + "</body>\n</html>\n";
}

}  // namespace pulsewright::reports::html
