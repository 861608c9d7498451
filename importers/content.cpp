#include "importers/content.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <system_error>
#include <utility>

#include "importers/import_error.hpp"

namespace pulsewright::importers {

namespace {

using Kind = ImportError::Kind;

[[noreturn]] void refuse(const std::string& path, const std::string& found, Kind kind) {
  throw ImportError(kind, path, {}, "a capture file", found);
}

[[noreturn]] void refuse_changed(const std::string& path, const std::string& found) {
  throw ImportError(Kind::unusable_data, path, {}, "a file that stays as it is while it is read", found);
}

std::string reason(int error) { return std::generic_category().message(error); }

bool same_time(const timespec& a, const timespec& b) { return a.tv_sec == b.tv_sec && a.tv_nsec == b.tv_nsec; }

}  // namespace

char* BlockBuffer::room_for(std::size_t count) {
  const std::size_t need = before_ + count + behind_;
  if (need > room_) {
    bytes_.reset(new char[need]);
    room_ = need;
    std::memset(bytes_.get(), 0, before_);
  }
  return bytes_.get() + before_;
}

RegularFile::RegularFile(std::string path, int descriptor, bool close_it, const struct stat& status)
    : path_(std::move(path)), descriptor_(descriptor), close_it_(close_it), status_(status) {
  const auto end = static_cast<std::size_t>(status.st_size);
  const off_t at = close_it ? 0 : ::lseek(descriptor, 0, SEEK_CUR);
  begin_ = at < 0 ? 0 : std::min(static_cast<std::size_t>(at), end);
  size_ = end - begin_;
}

RegularFile::~RegularFile() {
  if (close_it_) ::close(descriptor_);
}

void RegularFile::read(std::size_t at, std::size_t count, char* place) const {
  while (count > 0) {
    const ssize_t got = ::pread(descriptor_, place, count, static_cast<off_t>(begin_ + at));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) refuse(path_, "a file that cannot be read (" + reason(errno) + ")", Kind::unusable_data);
    if (got == 0) refuse_changed(path_, "one that became shorter");
    at += static_cast<std::size_t>(got);
    place += got;
    count -= static_cast<std::size_t>(got);
  }
}

void RegularFile::check_unchanged() const {
  struct stat now {};
  if (::fstat(descriptor_, &now) != 0) refuse(path_, reason(errno), Kind::unusable_data);
  if (now.st_size < status_.st_size) refuse_changed(path_, "one that became shorter");
  if (now.st_size > status_.st_size) refuse_changed(path_, "one that became longer");
  if (!same_time(now.st_mtim, status_.st_mtim)) refuse_changed(path_, "one that was written to");
}

Block Content::block(std::size_t at, std::size_t count, BlockBuffer& buffer) const {
  at = std::min(at, size_);
  count = std::min(count, size_ - at);
  if (file_ == nullptr) return {held_.substr(at, count), held_.data(), held_.data() + held_.size()};
  char* const place = buffer.room_for(count);
  file_->read(at_ + at, count, place);
  std::memset(place + count, 0, buffer.behind_);
  return {{place, count}, place - BlockBuffer::before_, place + count + buffer.behind_};
}

std::string_view Content::whole(std::string& place) const {
  if (file_ == nullptr) return held_;
  place.resize(size_);
  file_->read(at_, size_, place.data());
  return place;
}

Content Content::from(std::size_t at) const {
  Content rest = *this;
  rest.held_.remove_prefix(at);
  rest.size_ -= at;
  if (file_ != nullptr) rest.at_ += at;
  return rest;
}

InputBytes::InputBytes(const std::string& path, std::size_t limit_bytes) : path_(path), limit_bytes_(limit_bytes) {
  const bool standard_input = path == "-";
  const int descriptor = standard_input ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) {
    const int error = errno;
    if (error == ENOENT || error == ENOTDIR || path.empty()) refuse(path, "no such file", Kind::no_such_input);
    refuse(path, "a file that cannot be opened (" + reason(error) + ")", Kind::no_such_input);
  }
  struct stat status {};
  const bool known = ::fstat(descriptor, &status) == 0;
  const int error = errno;
  if (known && S_ISREG(status.st_mode) && status.st_size > 0) {
    file_ = std::make_unique<RegularFile>(standard_input ? "standard input" : path, descriptor, !standard_input, status);
    held_.resize(std::min(file_->size(), Content::head_bytes));
    file_->read(0, held_.size(), held_.data());
    return;
  }
  const auto close = [standard_input](const int* number) {
    if (!standard_input) ::close(*number);
  };
  const std::unique_ptr<const int, decltype(close)> closer(&descriptor, close);
  if (!known) refuse(path, reason(error), Kind::no_such_input);
  if (S_ISDIR(status.st_mode)) refuse(path, "a directory", Kind::no_such_input);
  read_all(descriptor);
}

Content InputBytes::content() const { return file_ ? Content(*file_, held_) : Content(held_); }

std::string_view InputBytes::small() {
  if (!file_) return held_;
  refuse_above_limit(file_->size());
  return content().whole(held_);
}

void InputBytes::check_unchanged() const {
  if (file_) file_->check_unchanged();
}

void InputBytes::refuse_above_limit(std::size_t size) const {
  if (limit_bytes_ != 0 && size > limit_bytes_)
    refuse(path_, "more than " + std::to_string(limit_bytes_) + " bytes, the memory limit", Kind::unusable_data);
}

void InputBytes::read_all(int descriptor) {
  std::string block(std::size_t{1} << 18, '\0');
  for (;;) {
    const ssize_t got = ::read(descriptor, block.data(), block.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) refuse(path_, "a file that cannot be read (" + reason(errno) + ")", Kind::no_such_input);
    if (got == 0) return;
    held_.append(block, 0, static_cast<std::size_t>(got));
    refuse_above_limit(held_.size());
  }
}

}  // namespace pulsewright::importers
