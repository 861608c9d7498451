#include "reports/html/page_shell.hpp"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <stdexcept>

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
  const std::string policy = fmt::format(
      "default-src 'none'; script-src '{}' '{}'; style-src '{}' '{}'; base-uri 'none'; form-action 'none'",
      policy_hash(assets::plot_js), policy_hash(assets::page_js), policy_hash(assets::plot_css), policy_hash(assets::page_css));
  std::string text = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n"
      "<meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n",
      policy, escape(page.title));
  text += "<style>" + std::string(assets::plot_css) + "</style>\n<style>" + std::string(assets::page_css) + "</style>\n</head>\n<body>\n";
  text += page.body;
  if (!page.data_json.empty())
    text += "<script type=\"application/json\" id=\"page-data\">" + json_in_script(page.data_json) + "</script>\n";
  text += "<script>" + std::string(assets::plot_js) + "</script>\n<script>" + std::string(assets::page_js) + "</script>\n";
  return text + "</body>\n</html>\n";
}

}  // namespace pulsewright::reports::html
