#include "core/base/sha256.h"

#include <gtest/gtest.h>

#include <string>

namespace macle {
namespace {

// Example messages of FIPS 180-4 as published with it (NIST, "Cryptographic Standards and
// Guidelines: Example Values", SHA-256), and the long message of FIPS 180-2, appendix B.3.
TEST(Sha256, GivesThePublishedDigests) {
    EXPECT_EQ(sha256Hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(sha256Hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    EXPECT_EQ(sha256Hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
              "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    EXPECT_EQ(sha256Hex(std::string(1'000'000, 'a')),
              "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Sha256, DoesNotDependOnHowTheMessageIsCutUp) {
    std::string message;
    for (int i = 0; i < 300; ++i)
        message.push_back(char(i * 7));
    // Every length around the block boundary, fed whole and in odd pieces.
    for (std::size_t length = 0; length <= message.size(); ++length) {
        const std::string part = message.substr(0, length);
        Sha256 pieces;
        for (std::size_t at = 0; at < part.size(); at += 13)
            pieces.add(std::string_view(part).substr(at, 13));
        EXPECT_EQ(pieces.hex(), sha256Hex(part)) << length;
    }
}

}  // namespace
}  // namespace macle
