#include "core/light/face_picture.h"

#include <gtest/gtest.h>
#include <zlib.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <numeric>
#include <sstream>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/light/fresnel.h"
#include "core/light/trace.h"
#include "tests/core/light/light_shapes.h"

namespace macle {
namespace {

const Material& diamond() {
    static const Material material = loadMaterial("diamond");
    return material;
}

FacePictureOptions small(int pixels) {
    FacePictureOptions options;
    options.pixels = pixels;
    return options;
}

// A plate seen from above: what it throws back at the bottom, in closed form for each wavelength.
TEST(FacePicture, APlateIsAsBrightAsItsBottomThrowsBack) {
    const LightBody plate(test::box(2, 1, 0.5), 3.0, diamond());
    FacePictureOptions options = small(60);
    options.leastPower = 1e-12;
    const FacePicture picture = facePicture(plate, options);
    const auto weights = daylightWeights(options.wavelengths_nm);
    double bright = 0, leaked = 0, path = 0;
    for (std::size_t i = 0; i < weights.size(); ++i) {
        const double R = reflectanceOutside(plate.index(options.wavelengths_nm[i]), 0).mean();
        bright += weights[i].y * (1 - R) * (1 - R) * R / (1 - R * R);
        leaked += weights[i].y * (1 - R) * (1 - R) / (1 - R * R);
        for (int k = 0; k < 20; ++k)  // 2, 4, 6 ... passages of 3 mm
            path += weights[i].y * (1 - R) * (1 - R) * std::pow(R, 2 * k + 1) * 3.0 * (2 * k + 2);
    }
    EXPECT_NEAR(picture.figures.lightReturn, bright, 1e-12);
    EXPECT_NEAR(picture.figures.leaked, leaked, 1e-12);
    EXPECT_NEAR(picture.figures.meanPath_mm, path / bright, 1e-9);
    EXPECT_NEAR(picture.figures.contrast, 0.0, 1e-6);
    EXPECT_NEAR(picture.figures.faceArea_mm2, 12.0 * 6.0, 4.0);
}

// Pixel by pixel against the account of single rays.
TEST(FacePicture, EachPixelIsTheSumOfItsRay) {
    const LightBody oval(makeDesign("oval", {}), 6.5, diamond());
    FacePictureOptions options = small(22);
    options.wavelengths_nm = {450, 620};
    options.spectrum = loadSpectrum("pink");
    options.lighting = Lighting::DarkViewer;
    options.tilt_deg = 14.0;
    options.tiltAzimuth_deg = 30.0;
    const FacePicture picture = facePicture(oval, options);
    const auto weights = daylightWeights(options.wavelengths_nm);
    // The way to the viewer in the cut frame, the table leaning 14 degrees towards azimuth 30.
    const double t = 14 * M_PI / 180, a = 30 * M_PI / 180;
    const Eigen::Vector3d viewer(-std::sin(t) * std::cos(a), -std::sin(t) * std::sin(a),
                                 std::cos(t));
    double bright = 0, leaked = 0, count = 0;
    // The raster's place is its own; a fine enough one of our own has the same mean.
    const Eigen::Vector3d right = Eigen::Vector3d::UnitY().cross(viewer).normalized(),
                          up = viewer.cross(right);
    std::vector<LightRay> rays;
    const int n = 90;
    for (int y = 0; y < n; ++y)
        for (int x = 0; x < n; ++x)
            rays.push_back(
                {20 * viewer + ((x + 0.5) / n - 0.5) * 11 * right + ((y + 0.5) / n - 0.5) * 11 * up,
                 -viewer});
    for (std::size_t w = 0; w < weights.size(); ++w) {
        TraceOptions trace;
        trace.wavelength_nm = options.wavelengths_nm[w];
        trace.absorption_per_mm = options.spectrum->perMm(trace.wavelength_nm);
        trace.leastPower = options.leastPower;
        for (const RayAccount& account : traceRays(oval, rays, trace)) {
            if (!account.met) continue;
            if (w == 0) ++count;
            for (const LeavingLight& light : account.leaving) {
                const double cosine = light.direction.dot(viewer);
                if (cosine <= 0)
                    leaked += weights[w].y * light.power;
                else if (cosine < std::cos(16 * M_PI / 180))
                    bright += weights[w].y * light.power;
            }
        }
    }
    FacePictureOptions fine = options;
    fine.pixels = 120;
    const FaceFigures figures = facePicture(oval, fine).figures;
    EXPECT_NEAR(figures.lightReturn, bright / count, 0.02 * figures.lightReturn);
    EXPECT_NEAR(figures.leaked, leaked / count, 0.03 * figures.leaked + 0.002);
    EXPECT_NEAR(picture.figures.lightReturn, figures.lightReturn, 0.06);
    const double mean = std::accumulate(picture.leaked.begin(), picture.leaked.end(), 0.0) /
                        std::accumulate(picture.face.begin(), picture.face.end(), 0.0);
    EXPECT_NEAR(picture.figures.leaked, mean, 1e-5);
}

// A round has eightfold symmetry and mirror planes: so has its picture.
TEST(FacePicture, ARoundLooksTheSameFromEachQuarterAndItsMirror) {
    const LightBody round(makeDesign("round", {}), 6.5, diamond());
    const FacePicture p = facePicture(round, small(64));
    int off = 0, all = 0;
    for (int y = 0; y < 64; ++y)
        for (int x = 0; x < 64; ++x) {
            const auto at = [&](int c, int r) {
                return p.colour[static_cast<std::size_t>(r * 64 + c)].y;
            };
            ++all;
            // Pixels cut by an edge may fall to either side by rounding.
            if (std::abs(at(x, y) - at(63 - y, x)) > 1e-6) ++off;
            if (std::abs(at(x, y) - at(63 - x, y)) > 1e-6) ++off;
        }
    EXPECT_LT(off, all / 50);
    EXPECT_GT(p.figures.lightReturn, 0.6);
    EXPECT_LT(p.figures.leaked, 0.15);
}

// Common practice, no source: a pavilion of 36 degrees leaks under the table, one of 41 does not;
// a dark viewer makes contrast.
TEST(FacePicture, ShallowPavilionsLeakAndAViewerMakesContrast) {
    const auto figures = [](double pavilion, Lighting lighting) {
        FacePictureOptions options = small(96);
        options.lighting = lighting;
        const LightBody body(makeDesign("round", {{"pavilion_deg", pavilion}}), 6.5, diamond());
        return facePicture(body, options).figures;
    };
    const auto good = figures(40.75, Lighting::Even), shallow = figures(34.0, Lighting::Even);
    EXPECT_GT(shallow.leaked, 2 * good.leaked);
    EXPECT_LT(shallow.lightReturn, good.lightReturn);
    EXPECT_GT(figures(40.75, Lighting::DarkViewer).contrast, 2 * good.contrast);
    // At 45 degrees the middle sends the viewer's own dark back: a nail head.
    const auto middle = [](double pavilion) {
        FacePictureOptions options = small(96);
        options.lighting = Lighting::DarkViewer;
        const LightBody body(makeDesign("round", {{"pavilion_deg", pavilion}}), 6.5, diamond());
        const FacePicture picture = facePicture(body, options);
        double sum = 0;
        for (int y = 38; y < 58; ++y)
            for (int x = 38; x < 58; ++x)
                sum += picture.colour[static_cast<std::size_t>(96 * y + x)].y;
        return sum / 400;
    };
    EXPECT_LT(middle(45.0), 0.5 * middle(40.75));
}

TEST(FacePicture, TheSameAtAnyThreadCountAndTiltSeriesBeginsFaceUp) {
    const LightBody round(makeDesign("heart", {}), 6.5, diamond());
    FacePictureOptions options = small(48);
    options.wavelengths_nm = {450, 550, 650};
    options.threads = 1;
    const FacePicture one = facePicture(round, options);
    options.threads = 3;
    const FacePicture three = facePicture(round, options);
    EXPECT_EQ(pictureRaster(one).rgb, pictureRaster(three).rgb);
    EXPECT_EQ(one.figures.lightReturn, three.figures.lightReturn);
    EXPECT_EQ(one.figures.meanPath_mm, three.figures.meanPath_mm);
    const auto series = tiltSeries(round, options, 30.0, 2);
    ASSERT_EQ(series.size(), 6u);
    EXPECT_EQ(series[0].lightReturn, one.figures.lightReturn);
    EXPECT_EQ(series[3].lightReturn, one.figures.lightReturn);
    EXPECT_EQ(series[2].tilt_deg, 30.0);
    EXPECT_EQ(series[5].azimuth_deg, 90.0);
    EXPECT_NE(series[2].lightReturn, series[5].lightReturn);
}

// ISO/IEC 15948: the signature, the sides, and the pixels unpacked again.
TEST(FacePicture, ThePngHoldsThePixels) {
    Raster raster{3, 2, {1, 2, 3, 4, 5, 6, 7, 8, 9, 250, 0, 128, 10, 20, 30, 0, 0, 0}};
    const auto file = std::filesystem::temp_directory_path() /
                      ("macle_png_" + std::to_string(std::rand()) + ".png");
    writePng(raster, file);
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream all;
    all << stream.rdbuf();
    const std::string png = all.str();
    std::filesystem::remove(file);
    EXPECT_EQ(png.substr(0, 8), "\x89PNG\r\n\x1a\n");
    EXPECT_EQ(png[19], 3);
    EXPECT_EQ(png[23], 2);
    const auto at = png.find("IDAT");
    ASSERT_NE(at, std::string::npos);
    std::vector<std::uint8_t> rows(20);
    uLongf size = 20;
    ASSERT_EQ(uncompress(rows.data(), &size, reinterpret_cast<const Bytef*>(png.data() + at + 4),
                         png.size() - at - 4),
              Z_OK);
    for (std::size_t y = 0; y < 2; ++y)
        for (std::size_t x = 3; x < 9; ++x)
            rows[10 * y + 1 + x] =
                static_cast<std::uint8_t>(rows[10 * y + 1 + x] + rows[10 * y + 1 + x - 3]);
    for (std::size_t y = 0; y < 2; ++y)
        for (std::size_t x = 0; x < 9; ++x)
            EXPECT_EQ(rows[10 * y + 1 + x], raster.rgb[9 * y + x]);
    EXPECT_THROW(writePng(raster, "/nowhere/at/all.png"), Error);
    raster.width = 4;
    EXPECT_THROW(writePng(raster, file), Error);
}

TEST(FacePicture, RefusesBadOptions) {
    const LightBody plate(test::box(2, 1, 0.5), 3.0, diamond());
    FacePictureOptions options = small(4);
    EXPECT_THROW(facePicture(plate, options), Error);
    options = small(32);
    options.tilt_deg = 95;
    EXPECT_THROW(facePicture(plate, options), Error);
    options = small(32);
    options.wavelengths_nm = {};
    EXPECT_THROW(facePicture(plate, options), Error);
    options.wavelengths_nm = {200, 500};
    EXPECT_THROW(facePicture(plate, options), Error);
    options = small(32);
    Progress progress;
    progress.cancel();
    EXPECT_THROW(facePicture(plate, options, &progress), Error);
}

}  // namespace
}  // namespace macle
