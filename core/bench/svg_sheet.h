// SvgSheet: the few shapes of an SVG drawing, in mm of paper. Numbers always with a decimal point.
// Private to core/bench. Not shared between threads.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

namespace macle {

struct Pen {
    std::string colour = "#222222";
    double width_mm = 0.2;  // on paper
    bool dashed = false;
};

class SvgSheet {
  public:
    void text(double x, double y, const std::string& words, double size_mm = 2.6, bool bold = false,
              const std::string& anchor = "start");
    // Broken at spaces to lines of at most `letters`; returns where the next line would stand.
    double paragraph(double x, double y, const std::string& words, std::size_t letters,
                     double size_mm = 2.6);
    void line(double x1, double y1, double x2, double y2, const Pen& pen);
    void tag(double x, double y, const std::string& words, const std::string& colour);
    void cross(double x, double y, bool hollow);

    // Up to endView coordinates of paths are mm of the stone, y upwards, drawn at `scale` with the
    // stone's place `centre` at x, y of the paper.
    void beginView(const std::string& title, double x, double y, const Eigen::Vector2d& centre,
                   double scale);
    // Consecutive points nearer than 0.05 mm on paper are left out.
    void path(const std::vector<std::vector<Eigen::Vector2d>>& lines, bool closed, const Pen& pen,
              const std::string& name);
    void endView();

    std::string document(double width_mm, double height_mm, const std::string& title) const;

  private:
    std::string body_;
    double scale_ = 1.0;
};

}  // namespace macle
