// Pictures against small references kept in tests/pictures/render. The tolerance allows for other
// drivers' rounding of edges, not for another colour, size or place. To renew them after a wanted
// change, run with MACLE_WRITE_REFERENCES=1 and look at each.
#include <vtkImageData.h>
#include <vtkNew.h>
#include <vtkPNGReader.h>

#include <cstdlib>
#include <filesystem>

#include "core/stone/sample.h"
#include "stage.h"

namespace macle::render::test {
namespace {

constexpr int kWidth_px = 280;
constexpr int kHeight_px = 210;

Picture read(const std::filesystem::path& file) {
    vtkNew<vtkPNGReader> reader;
    reader->SetFileName(file.c_str());
    reader->Update();
    vtkImageData* image = reader->GetOutput();
    Picture picture{image->GetDimensions()[0], image->GetDimensions()[1], {}};
    for (int y = picture.height_px - 1; y >= 0; --y)
        for (int x = 0; x < picture.width_px; ++x)
            for (int k = 0; k < 3; ++k)
                picture.rgb.push_back(
                    static_cast<const std::uint8_t*>(image->GetScalarPointer(x, y, 0))[k]);
    return picture;
}

void compare(Scene& scene, const std::string& name) {
    const auto file = std::filesystem::path(MACLE_REFERENCE_PICTURES) / (name + ".png");
    if (std::getenv("MACLE_WRITE_REFERENCES") != nullptr) {
        writePicture(scene, kWidth_px, kHeight_px, file);
        return;
    }
    ASSERT_TRUE(std::filesystem::exists(file)) << file;
    const Picture wanted = read(file);
    const Picture drawn = drawPicture(scene, kWidth_px, kHeight_px);
    ASSERT_EQ(wanted.rgb.size(), drawn.rgb.size());
    EXPECT_LT(meanDifference(wanted, drawn), 1.0) << name;
    long long off = 0;
    for (std::size_t i = 0; i < drawn.rgb.size(); ++i)
        off += std::abs(int{wanted.rgb[i]} - int{drawn.rgb[i]}) > 30 ? 1 : 0;
    EXPECT_LT(static_cast<double>(off) / static_cast<double>(drawn.rgb.size()), 0.01) << name;
    if (testing::Test::HasFailure())
        writePicture(scene, kWidth_px, kHeight_px,
                     std::filesystem::path(testing::TempDir()) / ("drawn_" + name + ".png"));
}

void stage(Scene& scene, Theme theme) {
    scene.setTheme(theme);
    scene.setStone(sampleStone(12000));
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({-0.3, -0.2, -0.2}, 7.0, {1.0, 0.4, 0.0}, 17.0));
}

TEST(Reference, Oblique) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.setLimits({{-0.3, 3.2, 0.2}});
        scene.look(ViewFrom::Oblique);
        compare(scene, dark ? "oblique_dark" : "oblique_light");
    }
}

TEST(Reference, TableWithAChosenDefect) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.look(ViewFrom::Table);
        scene.setHighlightedDefect(0);
        compare(scene, dark ? "table_dark" : "table_light");
    }
}

TEST(Reference, Section) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.look(ViewFrom::Oblique);
        scene.setSection({0.1, -1.0, 0.1}, 0.5);
        compare(scene, dark ? "section_dark" : "section_light");
    }
}

}  // namespace
}  // namespace macle::render::test
