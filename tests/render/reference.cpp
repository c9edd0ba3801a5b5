#include "reference.h"

#include <vtkImageData.h>
#include <vtkNew.h>
#include <vtkPNGReader.h>

#include <cstdlib>
#include <filesystem>

#include "stage.h"

namespace macle::render::test {

namespace {

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

}  // namespace

void compare(Scene& scene, const std::string& name, int width_px, int height_px) {
    const auto file = std::filesystem::path(MACLE_REFERENCE_PICTURES) / (name + ".png");
    if (std::getenv("MACLE_WRITE_REFERENCES") != nullptr) {
        writePicture(scene, width_px, height_px, file);
        return;
    }
    ASSERT_TRUE(std::filesystem::exists(file)) << file;
    const Picture wanted = read(file);
    const Picture drawn = drawPicture(scene, width_px, height_px);
    ASSERT_EQ(wanted.rgb.size(), drawn.rgb.size());
    EXPECT_LT(meanDifference(wanted, drawn), 1.0) << name;
    long long off = 0;
    for (std::size_t i = 0; i < drawn.rgb.size(); ++i)
        off += std::abs(int{wanted.rgb[i]} - int{drawn.rgb[i]}) > 30 ? 1 : 0;
    EXPECT_LT(static_cast<double>(off) / static_cast<double>(drawn.rgb.size()), 0.01) << name;
    if (testing::Test::HasFailure())
        writePicture(
            scene, width_px, height_px,
            std::filesystem::path(testing::TempDir()) / ("drawn_" + file.stem().string() + ".png"));
}

}  // namespace macle::render::test
