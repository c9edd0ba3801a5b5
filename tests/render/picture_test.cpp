// Off-screen pictures: the same twice, right errors, right bytes in the file.
#include <vtkImageData.h>
#include <vtkNew.h>
#include <vtkPNGReader.h>

#include <cstdlib>
#include <filesystem>

#include "core/base/error.h"
#include "core/stone/sample.h"
#include "stage.h"

namespace macle::render::test {
namespace {

ErrorCode codeOf(const std::function<void()>& act) {
    try {
        act();
    } catch (const Error& error) {
        EXPECT_FALSE(error.message().empty());
        EXPECT_FALSE(error.remedy().empty());
        return error.code();
    }
    ADD_FAILURE() << "no error";
    return ErrorCode::Internal;
}

TEST(Pictures, SupportSaysYesOrWhyNot) {
    const PictureSupport support = pictureSupport();
    EXPECT_NE(support.available, !support.reason.empty());
}

TEST(Pictures, AreTheSameEachTime) {
    MACLE_NEEDS_PICTURES();
    const auto draw = [](Scene& scene) {
        scene.setStone(sampleStone(8000));
        scene.setDesign(roundSolids());
        scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 5.0));
        scene.setLimits({{0.0, 2.5, 0.0}});
        return drawPicture(scene, 300, 200);
    };
    Scene one;
    const Picture first = draw(one);
    EXPECT_EQ(drawPicture(one, 300, 200).rgb, first.rgb);
    Scene two;
    EXPECT_EQ(draw(two).rgb, first.rgb);
}

TEST(Pictures, AFileHoldsWhatWasDrawn) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    scene.setStone(octahedronStone(5.0, 1));
    const auto file = std::filesystem::path(testing::TempDir()) / "macle_picture_test.png";
    writePicture(scene, 160, 90, file);
    const Picture drawn = drawPicture(scene, 160, 90);
    vtkNew<vtkPNGReader> reader;
    reader->SetFileName(file.c_str());
    reader->Update();
    vtkImageData* image = reader->GetOutput();
    ASSERT_EQ(image->GetDimensions()[0], 160);
    ASSERT_EQ(image->GetDimensions()[1], 90);
    ASSERT_EQ(image->GetNumberOfScalarComponents(), 3);
    for (int y = 0; y < 90; ++y) {
        for (int x = 0; x < 160; ++x) {
            const auto* pixel =
                static_cast<const unsigned char*>(image->GetScalarPointer(x, 89 - y, 0));
            const Rgb colour = colourAt(drawn, x, y);
            for (std::size_t k = 0; k < 3; ++k)
                ASSERT_NEAR(pixel[k], 255.0 * colour[k], 1e-9);
        }
    }
    std::filesystem::remove(file);
}

TEST(Pictures, RefuseImpossibleSizesAndPlaces) {
    Scene scene;
    EXPECT_EQ(codeOf([&] { drawPicture(scene, 0, 100); }), ErrorCode::BadUsage);
    EXPECT_EQ(codeOf([&] { drawPicture(scene, 100, -5); }), ErrorCode::BadUsage);
    EXPECT_EQ(codeOf([&] { drawPicture(scene, 100000, 100); }), ErrorCode::BadUsage);
    EXPECT_EQ(codeOf([&] { drawPicture(scene, 100, 100, Quality::Rest, 0.0); }),
              ErrorCode::BadUsage);
    MACLE_NEEDS_PICTURES();
    EXPECT_EQ(codeOf([&] { writePicture(scene, 20, 20, "/no/such/folder/picture.png"); }),
              ErrorCode::Io);
}

TEST(Pictures, DoNotNeedADisplay) {
    MACLE_NEEDS_PICTURES();
    const char* display = std::getenv("DISPLAY");
    const std::string before = display != nullptr ? display : "";
    const auto draw = [] {
        Scene scene;
        scene.setStone(octahedronStone(5.0, 1));
        return drawPicture(scene, 120, 90).rgb;
    };
    unsetenv("DISPLAY");
    const auto without = draw();
    setenv("DISPLAY", ":4711", 1);  // there is none of that number
    const auto wrong = draw();
    if (before.empty()) {
        unsetenv("DISPLAY");
    } else {
        setenv("DISPLAY", before.c_str(), 1);
    }
    EXPECT_EQ(without, wrong);
    EXPECT_EQ(without, draw());
}

TEST(Pictures, AtTwoHundredPercentShowTheSameLarger) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    scene.setStone(sampleStone(8000));
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 5.0));
    const Picture small = drawPicture(scene, 300, 200);
    const Picture large = drawPicture(scene, 600, 400, Quality::Rest, 2.0);
    Picture halved{300, 200, std::vector<std::uint8_t>(small.rgb.size())};
    for (std::size_t y = 0; y < 200; ++y)
        for (std::size_t x = 0; x < 300; ++x)
            for (std::size_t k = 0; k < 3; ++k) {
                int sum = 0;
                for (std::size_t dy = 0; dy < 2; ++dy)
                    for (std::size_t dx = 0; dx < 2; ++dx)
                        sum += large.rgb[3 * ((2 * y + dy) * 600 + 2 * x + dx) + k];
                halved.rgb[3 * (y * 300 + x) + k] = static_cast<std::uint8_t>((sum + 2) / 4);
            }
    // Had lines and text kept their pixels, they would be half as wide here.
    EXPECT_LT(meanDifference(small, halved), 1.5);
}

}  // namespace
}  // namespace macle::render::test
