// SHA-256 (FIPS 180-4), for the identity of plan sheets, stored surfaces and approvals. Not for
// secrets.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace macle {

// Takes any amount of bytes in pieces; `hex` ends the message and may be called once.
class Sha256 {
  public:
    Sha256();
    void add(std::string_view bytes);
    std::string hex();  // 64 lower-case hexadecimal digits

  private:
    void block(const unsigned char* bytes);

    std::array<std::uint32_t, 8> state_;
    std::array<unsigned char, 64> buffer_{};
    std::size_t buffered_ = 0;
    std::uint64_t total_ = 0;
};

std::string sha256Hex(std::string_view bytes);

}  // namespace macle
