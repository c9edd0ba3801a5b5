#include "core/light/spectrum.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>

#include "core/base/error.h"

namespace macle {
namespace {

class Folder {
  public:
    Folder() : path_(std::filesystem::temp_directory_path() / "macle_spectrum_test_XXXXXX") {
        std::string name = path_.string();
        path_ = mkdtemp(name.data());
    }
    ~Folder() { std::filesystem::remove_all(path_); }
    std::string file(const std::string& name, const std::string& text) const {
        std::ofstream(path_ / name) << text;
        return (path_ / name).string();
    }

  private:
    std::filesystem::path path_;
};

// Beer and Lambert: a Gaussian band at 550 nm, 110 nm wide, 0.5 per cm, over 1.5 cm.
TEST(Spectrum, ABandDimsByBeerAndLambert) {
    AbsorptionSpectrum s;
    s.bands.push_back({550.0, 110.0, 0.5});
    EXPECT_NEAR(std::exp(-s.perMm(550.0) * 15.0), 0.472, 5e-4);
    EXPECT_NEAR(s.perCm(605.0), 0.25, 1e-12);
    EXPECT_NEAR(s.perCm(495.0), 0.25, 1e-12);
    s.strength = 2.0;
    EXPECT_NEAR(s.perCm(550.0), 1.0, 1e-12);
}

TEST(Spectrum, TheModelsOfTheProgramHaveTheBandsOfTheirColour) {
    const auto names = spectrumNames();
    ASSERT_EQ(names, (std::vector<std::string>{"brown", "cape_yellow", "pink"}));
    for (const std::string& name : names) {
        const AbsorptionSpectrum s = loadSpectrum(name);
        EXPECT_EQ(s.name, name);
        EXPECT_NE(s.source.find("Not a measured stone"), std::string::npos);
    }
    const auto pink = loadSpectrum("pink"), cape = loadSpectrum("cape_yellow"),
               brown = loadSpectrum("brown");
    EXPECT_GT(pink.perCm(550), 2 * pink.perCm(650));
    EXPECT_GT(pink.perCm(390), pink.perCm(450));
    EXPECT_GT(cape.perCm(415.2), 5 * cape.perCm(440));
    EXPECT_GT(cape.perCm(478), 2 * cape.perCm(495));
    EXPECT_LT(cape.perCm(600), 1e-6);
    for (int nm = 400; nm < 700; nm += 10)
        EXPECT_GT(brown.perCm(nm), brown.perCm(nm + 10));
}

TEST(Spectrum, FilesOfBothKindsAreReadAndFaultsNamed) {
    const Folder folder;
    const auto csv = loadSpectrum(
        folder.file("own.csv", "wavelength_nm,per_cm\n# measured\n400,1\n500, 0.5\r\n600,0.1\n"));
    EXPECT_EQ(csv.name, "own");
    EXPECT_NEAR(csv.perCm(450), 0.75, 1e-12);
    EXPECT_NEAR(csv.perCm(300), 1.0, 1e-12);
    EXPECT_NEAR(csv.perCm(900), 0.1, 1e-12);
    const auto json = loadSpectrum(folder.file(
        "own.json", R"({"name":"own","source":"me","points":[{"wavelength_nm":400,"per_cm":2}],
                        "tails":[{"at_nm":500,"per_cm":1,"power":2}]})"));
    EXPECT_NEAR(json.perCm(250), 6.0, 1e-12);

    const std::pair<const char*, const char*> bad[] = {
        {"a.csv", "400,1\n400,2\n"},
        {"b.csv", "400,-1\n"},
        {"c.csv", ""},
        {"d.csv", "400,1\nfive,6\n"},
        {"e.csv", "400,1\n500\n"},
        {"f.csv", "400,nan\n500,1\n"},
        {"g.json", "{"},
        {"h.json", R"({"name":"x","source":"y"})"},
        {"i.json", R"({"name":"x","source":"y","bands":[{"centre_nm":5}]})"},
        {"j.json",
         R"({"name":"x","source":"y","bands":[{"centre_nm":5,"width_nm":0,"peak_per_cm":1}]})"},
        {"k.json", R"({"name":"x","source":"y","tails":[{"at_nm":5,"per_cm":1,"power":99}]})"}};
    for (const auto& [name, text] : bad) {
        try {
            loadSpectrum(folder.file(name, text));
            ADD_FAILURE() << name;
        } catch (const Error& error) {
            EXPECT_EQ(error.code(), ErrorCode::BadInput) << name;
            EXPECT_FALSE(error.remedy().empty());
        }
    }
    EXPECT_THROW(loadSpectrum("teal"), Error);
    EXPECT_THROW(loadSpectrum("missing.csv"), Error);
}

}  // namespace
}  // namespace macle
