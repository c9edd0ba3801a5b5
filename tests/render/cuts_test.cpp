// Every cut of the program from above, from the side and from below, against small pictures kept in
// tests/pictures/render/cuts. To renew them see reference_test.cpp.
#include "core/cut/library.h"
#include "reference.h"
#include "stage.h"

namespace macle::render::test {
namespace {

TEST(CutPictures, EveryCutFromAboveFromTheSideAndFromBelow) {
    MACLE_NEEDS_PICTURES();
    for (const char* cut :
         {"round", "single", "rose", "oval", "pear", "marquise", "heart", "trilliant", "cushion",
          "princess", "radiant", "emerald", "square_step", "baguette"}) {
        Scene scene;
        scene.setTheme(Theme::Light);
        std::vector<ConvexSolid> parts;
        for (const ConvexPart& part : makeDesign(cut, {}).parts)
            parts.push_back(makeSolid(part));
        scene.setDesign(parts);
        scene.setPlacement(placedAt(Eigen::Vector3d::Zero(), 6.0));
        const std::pair<ViewFrom, const char*> views[] = {
            {ViewFrom::Table, "_above"}, {ViewFrom::Side, "_side"}, {ViewFrom::Culet, "_below"}};
        for (const auto& [from, name] : views) {
            scene.look(from);
            scene.frame();
            compare(scene, std::string("cuts/") + cut + name, 160, 136);
        }
    }
}

}  // namespace
}  // namespace macle::render::test
