package quietbell.tablet;

import android.os.Bundle;
import android.view.WindowManager;
import org.kivy.android.PythonActivity;

/** The app's only window. Nothing of it is shown in a screenshot, a recording, a cast or the list of recent apps. */
public class DiscreetActivity extends PythonActivity {
    @Override
    protected void onCreate(Bundle savedInstanceState) {
        getWindow().setFlags(
                WindowManager.LayoutParams.FLAG_SECURE, WindowManager.LayoutParams.FLAG_SECURE);
        super.onCreate(savedInstanceState);
    }
}
